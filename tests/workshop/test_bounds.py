from reach.workshop.bounds import Bound


def test_a_bound_is_exact_where_both_sides_agree_and_are_known():
    assert Bound(7, 7).is_exact
    assert not Bound(6, 7).is_exact
    assert not Bound(None, 7).is_exact
    assert not Bound(None, None).is_exact
