import pytest

from reach.findings import MoveKind
from reach.kernels.course import compile_course
from reach.reachability.footholds import find_footholds
from reach.reachability.plan_answers import alone
from reach.reachability.plan_search import find_window
from reach.reachability.windows import measure_move
from reach.workshop.gap_scripts import Flights
from reach.workshop.gap_windows import Guess, gap_task, widest_gap_with_window
from tests.builders import make_motion, make_terrain

PX = 65536
T = 16 * PX
MOTION = make_motion(walk_cap=130000, air_cap=130000)
LEDGE = 8 * T


def limit(height: int) -> int:
    crossing = Flights(MOTION, (height,)).widest(0, LEDGE)
    assert crossing is not None
    return crossing.gap_spx


@pytest.mark.parametrize("height", [2 * T, 0, -3 * T])
def test_the_gap_has_a_window_and_a_px_more_has_none_wherever_it_began(height):
    most = limit(height)
    found = {
        widest_gap_with_window(MOTION, LEDGE, height, 4, Guess(most, less)) for less in (0, 4 * PX, 3 * 130000, 20 * PX)
    }
    assert len(found) == 1
    (gap,) = found
    assert gap is not None and gap % PX == 0
    assert 0 < gap < most

    def window(wide: int) -> int:
        result = alone(find_window(gap_task(MOTION, LEDGE, height, wide), (), 4, 4))
        return 0 if result is None else result.window_ticks

    assert window(gap) == 4
    assert window(gap + PX) < 4


def test_a_wider_window_is_a_narrower_gap_and_one_tick_is_nearly_the_limit():
    most = limit(0)
    gaps = [widest_gap_with_window(MOTION, LEDGE, 0, ticks, Guess(most, 0)) for ticks in (1, 2, 4, 8)]
    assert gaps == sorted(gaps, reverse=True) and len(set(gaps)) == 4
    assert most - 130000 - PX < gaps[0] <= most


def test_without_any_window_there_is_no_gap():
    assert widest_gap_with_window(MOTION, LEDGE, 6 * T, 4, Guess(20 * PX, 0)) is None


def test_the_window_is_the_one_that_a_check_measures_on_tiles():
    """On a map of tiles the same jump has a window of at least as many ticks."""
    gap = widest_gap_with_window(MOTION, LEDGE, 0, 4, Guess(limit(0), 0))
    tiles = gap // T
    terrain = make_terrain(["." * (18 + tiles)] * 8 + ["#" * 8 + "." * tiles + "#" * 10] * 2)
    near, far = find_footholds(MOTION, terrain)
    course = compile_course(terrain)
    window = measure_move(
        MOTION, terrain, near, far, MoveKind.JUMP, tick_ms=16, spread_ms=25, cap=4, wanted=4, course=course
    )
    assert window.window_ticks == 4


def test_ledges_may_touch():
    assert alone(find_window(gap_task(MOTION, LEDGE, 0, 0), (), 2, 2)) is not None
