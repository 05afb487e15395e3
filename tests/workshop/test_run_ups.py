import pytest

from reach.movement import load_movement
from reach.workshop import run_ups
from reach.workshop.bounds import Bound
from reach.workshop.gap_limits import over_limits
from reach.workshop.gap_scripts import Flights
from tests.builders import make_motion
from tests.checkout import ROOT

PX = 65536
T = 16 * PX
MOTION = make_motion(walk_accel=4000, walk_cap=100000)


def test_a_ledge_is_enough_by_a_script_and_a_px_less_is_too_short_by_proof():
    heights = (0, -2 * T)
    flights = Flights(MOTION, heights)
    widest = flights.widest(0, 20 * T)
    assert widest is not None
    gaps = {0: widest.gap_spx // T * T, 1: T}
    ledges = run_ups.shortest_ledges(MOTION, flights, heights, gaps)
    assert sorted(ledges) == [0, 1]
    for index, bound in ledges.items():
        assert 0 <= bound.at_most_spx - bound.at_least_spx <= PX
        crossing = flights.shortest(index, gaps[index])
        assert crossing is not None and crossing.ledge_spx <= bound.at_most_spx < crossing.ledge_spx + PX
        if bound.at_least_spx > PX:
            assert over_limits(MOTION, bound.at_least_spx - PX, heights).gaps_spx[index] < gaps[index]
    assert ledges[0].at_most_spx > ledges[1].at_most_spx == PX


def test_the_samples_run_up_is_the_sum_to_the_fast_jumps_takeoff_speed():
    """The widest gaps of whole tiles take the fast band's jump.

    From rest, n ticks at a end at n * a; the takeoff's tick is one of them, so that the ledge is a * n(n-1)/2 and the
    last subpixel (motion model, section 6).
    """
    motion = load_movement(ROOT / "sample_levels/movement/lamplighter.json").motion
    a, threshold = motion.run_accel, int(motion.jump_from[-1])
    n = -(-threshold // a)
    heights = (0,)
    flights = Flights(motion, heights)
    ledges = run_ups.shortest_ledges(motion, flights, heights, {0: 8 * T})
    ledge_px = -(-(a * n * (n - 1) // 2 + 1) // PX)
    assert ledges == {0: Bound(ledge_px * PX, ledge_px * PX)}


def test_gaps_that_no_script_crosses_are_left_out():
    flights = Flights(MOTION, (0,))
    assert run_ups.shortest_ledges(MOTION, flights, (0,), {0: 100 * T}) == {}


def test_without_explorations_only_what_is_enough_is_known(monkeypatch: pytest.MonkeyPatch):
    flights = Flights(MOTION, (0,))
    widest = flights.widest(0, 20 * T)
    assert widest is not None
    gaps = {0: widest.gap_spx}
    late = run_ups.shortest_ledges(MOTION, flights, (0,), gaps, deadline=0.0)
    enough = -(-widest.ledge_spx // PX) * PX
    assert late == {0: Bound(PX, enough)}
    monkeypatch.setattr(run_ups, "MOST_EXPLORATIONS", 0)
    assert run_ups.shortest_ledges(MOTION, flights, (0,), gaps) == late


def test_the_search_goes_down_in_growing_steps_and_then_between():
    search = run_ups._Search(100, 40, 0, 40)
    probes = []
    truth = 31  # a ledge of 31 px is proved too short, 32 is not
    while (px := search.probe()) is not None:
        probes.append(px)
        search.learn(px, 99 if px <= truth else 100)
    assert (search.too_short, search.open) == (31, 32)
    assert probes[:4] == [39, 37, 33, 25]
    search.learn(20, 100)
    assert (search.too_short, search.open) == (31, 32)
