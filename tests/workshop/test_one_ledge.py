import numpy as np
import pytest

from reach.kernels.params import SOLID, State
from reach.kernels.step import run_script
from reach.workshop.one_ledge import MOST_TICKS, endless_ledge, held, ledge_world, middle_of, on_ledge, play_until
from tests.builders import make_motion

MOTION = make_motion(body_w=10, body_h=20, walk_accel=3, walk_cap=9)
X = State._fields.index("x")


@pytest.mark.parametrize(
    ("length", "depth", "width"),
    [(64, 100, 1000), (64, 0, 0), (1000, 64, 64), (320 * 65536, 9, 65536), (61 * 65536, 1, 1), (65 * 65536, 1, 1)],
)
def test_a_world_is_one_ledge_over_nothing(length, depth, width):
    terrain = ledge_world(length, depth, width)
    rows, columns = terrain.material.shape
    tile = terrain.tile
    assert np.argwhere(terrain.material != 0).tolist() == [[1, column] for column in range(length // tile)]
    assert terrain.material[1, 0] == SOLID
    assert length % tile == 0
    # its top is at the first row's bottom; what is below and beyond is a tile too much at most
    assert (rows - 2) * tile >= depth > (rows - 3) * tile
    assert columns * tile - length >= width > columns * tile - length - tile


def test_a_long_ledge_is_made_of_tiles_of_its_own_length_over():
    assert ledge_world(320 * 65536, 0, 0).tile == 32 * 65536
    assert ledge_world(61 * 65536, 0, 0).tile == 61 * 65536
    assert ledge_world(66 * 65536, 0, 0).tile == 33 * 65536


def test_a_body_stands_on_the_ledge_to_its_last_subpixel_and_not_beyond():
    terrain = ledge_world(64, 100, 100)
    for x, stays in ((0, True), (63, True), (64, False)):
        state = on_ledge(terrain, MOTION, x)
        after = State(*run_script(state, held(1), MOTION, terrain)[-1].tolist())
        assert bool(after.grounded) == stays


@pytest.mark.parametrize("wanted", [1, 2, 1023, 1024, 1025, 3000])
def test_it_plays_to_the_first_state_that_ends_it_and_no_farther(wanted):
    terrain = endless_ledge()
    start = on_ledge(terrain, MOTION, middle_of(terrain), 9)
    right = held(1, 1)
    states = play_until(start, right, right, lambda s: s[:, X] - start.x >= 9 * wanted, MOTION, terrain)
    assert states is not None
    assert len(states) == wanted + 1
    assert states[0].tolist() == list(start)
    assert (states[:, X] - start.x).tolist() == [9 * tick for tick in range(wanted + 1)]


def test_its_first_inputs_come_first_and_the_last_one_stays():
    terrain = endless_ledge()
    start = on_ledge(terrain, MOTION, middle_of(terrain))
    first = np.concatenate([held(1500, 0), held(2, 1)])
    states = play_until(start, first, held(1, -1), lambda s: s[:, X] < start.x, MOTION, terrain)
    assert states is not None
    assert states[1500, X] == start.x and states[1502, X] == start.x + 3 + 6


def test_what_does_not_end_has_no_states():
    terrain = endless_ledge()
    start = on_ledge(terrain, MOTION, middle_of(terrain))
    asked = []

    def never(states: np.ndarray) -> np.ndarray:
        asked.append(len(states))
        return np.zeros(len(states), bool)

    assert play_until(start, held(1), held(1), never, MOTION, terrain) is None
    assert sum(asked) >= MOST_TICKS
