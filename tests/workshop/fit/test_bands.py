"""Bands from samples, with wrong ones outvoted."""

from reach.workshop.fit.bands import Ref, Sample, find_bands, find_pair_bands, pair_gap


def samples(*groups):
    return [
        Sample(speed, value, Ref(0, 100 * g + n))
        for g, (value, speeds) in enumerate(groups)
        for n, speed in enumerate(speeds)
    ]


def test_a_threshold_lies_between_the_fastest_below_and_the_slowest_above():
    found = find_bands(samples((5, [0, 3, 9]), (8, [14, 20, 31])))
    assert [(band.value, band.least, band.most) for band in found.bands] == [(5, 0, 9), (8, 14, 31)]
    assert found.gap(1) == (9, 14)
    assert found.odd == ()


def test_single_wrong_samples_make_no_band():
    found = find_bands(samples((5, [0, 3, 9, 11]), (77, [4]), (8, [14, 20])))
    assert [band.value for band in found.bands] == [5, 8]
    assert [sample.value for sample in found.odd] == [77]


def test_a_band_may_come_back():
    assert [band.value for band in find_bands(samples((5, [0, 1]), (8, [2, 3, 4, 5]), (5, [6, 7]))).bands] == [5, 8, 5]


def test_samples_that_agree_in_nothing_tell_nothing():
    assert find_bands(samples((1, [0]), (2, [1]), (3, [2]))).bands == ()
    assert find_bands([]).bands == ()


def test_bands_by_two_keys():
    def ruled(speed, other):
        return 9.0 if speed >= 10 and other >= 20 else 4.0

    made = [
        Sample(speed, ruled(speed, other), Ref(0, 100 * speed + other), other)
        for speed in range(0, 30, 3)
        for other in range(0, 40, 7)
    ]
    found = find_pair_bands(made)
    assert [(band.value, band.least, band.least_other) for band in found.bands] == [(4, 0, 0), (9, 12, 21)]
    assert found.odd == ()
    assert pair_gap(found, made, 1) == ((9, 12), (14, 21))
