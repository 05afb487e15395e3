"""Stored sets are closed: no input leads out of them, so that what they lack is unreachable.

The ordinary run looks up some hundred thousand successors; `python -m tests.soundness` and the test marked `long` look
up millions.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests import soundness
from tests.closure_check import Happened, Stored, check_closure
from tests.micro_maps import MICRO_MAPS, MicroMap
from tests.planted_bugs import found_scenes, special_scenes
from tests.soundness import NotClosedError, Tally, check_world, level_world, made_world, sample_world

SLOW = {3, 13, 18, 28}
"""Seeds of made worlds with more than a million polygon ticks."""


def test_random_worlds_are_closed_and_use_every_mechanism() -> None:
    tally = Tally()
    for seed in range(32):
        check_world(level_world(seed), tally, seed, limit=8_000)
        world = None if seed in SLOW else made_world(seed)
        if world is not None:
            check_world(world, tally, seed, limit=8_000)
    assert tally.successors > 300_000
    assert not [what.name for what in Happened if tally.happened[what] == 0]


def test_a_sample_level_is_closed() -> None:
    """Numbers as fine as designers write them: here hardly any whole point is a vertex of anything."""
    tally = Tally()
    check_world(sample_world("quarry"), tally, seed=1, limit=100_000)
    assert tally.successors >= 100_000


@pytest.mark.small
@pytest.mark.parametrize("made", MICRO_MAPS, ids=lambda made: made.name)
def test_tiny_worlds_are_closed(made: MicroMap) -> None:
    n = made.fails if made.works is None else made.works
    assert n is not None
    scene = made.make(n)
    for seed, each in enumerate((scene, scene.mirrored())):
        tally = Tally()
        check_world((each.motion, each.terrain, each.start), tally, seed, limit=4_000)
        assert tally.successors > 100


@pytest.mark.parametrize("name", sorted(special_scenes() | found_scenes()))
def test_worlds_in_which_mistakes_were_noticed_are_closed(name: str) -> None:
    scene = (special_scenes() | found_scenes())[name]
    check_world((scene.motion, scene.terrain, scene.start), Tally(), seed=0, limit=40_000)


@pytest.mark.small
def test_a_successor_that_is_not_stored_is_found() -> None:
    """The check itself can fail: the sets of a motion are not closed for one that is faster by a subpixel a tick."""
    scene = next(made for made in MICRO_MAPS if made.name == "speed_over_the_air_cap_lives_on").make(60)
    stored = Stored(scene.motion, scene.terrain, scene.start)
    assert check_closure(stored, np.random.default_rng(1), points=8, limit=4_000).escapes == 0
    stored.motion = scene.motion._replace(run_cap=scene.motion.run_cap + 1)
    checked = check_closure(stored, np.random.default_rng(1), points=8, limit=4_000)
    assert checked.escapes > 0
    state, buttons, after = checked.described[0]
    assert stored.holds(state) and not stored.holds(after)
    assert abs(after.vx) == scene.motion.run_cap + 1
    assert buttons.direction != 0


@pytest.mark.small
def test_a_successor_at_rest_where_nothing_is_said_to_rest_is_found() -> None:
    scene = next(made for made in MICRO_MAPS if made.name == "speed_over_the_air_cap_lives_on").make(60)
    stored = Stored(scene.motion, scene.terrain, scene.start)
    assert stored.exploration.rested.all()
    stored.footholds[:, 3] = 0
    checked = check_closure(stored, np.random.default_rng(1), points=8, limit=4_000)
    assert checked.escapes > 0
    assert all(after.grounded and after.vx == 0 and stored.holds(after) for _, _, after in checked.described)


@pytest.mark.small
def test_a_start_that_is_not_stored_is_found() -> None:
    scene = next(made for made in MICRO_MAPS if made.name == "from_rest_one_walks_to_either_side").make(1)
    stored = Stored(scene.motion, scene.terrain, scene.start)
    assert stored.begins_with(scene.start)
    assert not stored.begins_with(scene.start._replace(vx=9))
    assert not stored.begins_with(scene.start._replace(y=scene.start.y - 8, grounded=0))


def test_the_command_counts_and_describes(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    assert soundness.main(["--successors", "30000", "--a-world", "5000", "--seed", "4", "--random-only"]) == 0
    assert "successors, all stored" in capsys.readouterr().out

    def leaks(*_: object) -> None:
        raise NotClosedError("1 of 2 successors escape")

    monkeypatch.setattr(soundness, "check_world", leaks)
    assert soundness.main(["--successors", "30000", "--seed", "4", "--random-only"]) == 1
    assert "level of seed 4: 1 of 2" in capsys.readouterr().err


@pytest.mark.long
def test_millions_of_successors_are_stored() -> None:
    assert soundness.main(["--successors", "5000000"]) == 0
