"""Figures say the median and the spread."""

from tests.bench.measuring import figure, timed


def test_median_and_spread():
    assert str(figure([3.0, 1.0, 20.0])) == "3 (1 .. 20)"
    assert figure([1.0, 2.0]).median == 1.5


def test_as_many_runs_as_asked():
    done = []
    taken, last = timed(lambda: done.append(1) or len(done), 4)
    assert (len(taken.values), last) == (4, 4)
