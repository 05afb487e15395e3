"""The exploration's beginnings and limits: whatever it starts from it finds all of, and no limit makes it claim."""

from __future__ import annotations

import threading
import time
from dataclasses import fields, replace
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from reach.findings import Verdict
from reach.kernels import heap
from reach.kernels.params import State
from reach.reachability import explore
from reach.reachability.exploration_job import Beginning
from reach.reachability.exploration_run import ExplorationRun
from reach.reachability.explore import Explorer
from reach.reachability.footholds import standable_tiles
from reach.reachability.result import Exploration
from reach.verdicts import tile_verdicts
from tests.builders import make_state, make_terrain, standing
from tests.exhaustive import case_of, every_state
from tests.explorations import explored
from tests.micro_maps import MICRO_MAPS, Scene, body
from tests.oracle_files import search

EFFORT = ("polygon_ticks", "ground")
"""What a larger room may change."""

WAITED_S = 60.0


def micro(name: str, works: bool = True) -> Scene:
    made = next(made for made in MICRO_MAPS if made.name == name)
    n = made.works if works else made.fails
    assert n is not None
    return made.make(n)


def marks(seen: Exploration) -> dict[str, Any]:
    """Everything that an exploration found, ready for comparison."""
    found = {one.name: getattr(seen, one.name) for one in fields(seen) if one.name not in EFFORT}
    return {name: value.tolist() if isinstance(value, np.ndarray) else value for name, value in found.items()}


def claims_nothing(seen: Exploration, scene: Scene) -> bool:
    """Whether an exploration leaves every tile undecided."""
    standable = standable_tiles(scene.motion, scene.terrain)
    verdicts = tile_verdicts(standable, seen, {}, exhausted=False)
    return not verdicts[Verdict.UNREACHABLE] and len(verdicts[Verdict.UNDECIDED]) == standable.sum()


def tiles_of(seen: Exploration) -> set[tuple[int, int]]:
    """The tiles that carry the body, (column, row)."""
    return {(column, row) for row, column in np.argwhere(seen.carried).tolist()}


# Beginnings -----------------------------------------------------------------------------------------------------------

LEDGE = ["......", ".==...", "......", "......", "######"]
"""A ledge 48 above the ground, for a body that rises 10."""


def on_ledge() -> Scene:
    motion = body(body_w=8, body_h=8, jump_launch=4, jump_gravity_held=1, jump_gravity=1, walk_cap=2, air_cap=2)
    terrain = make_terrain(LEDGE, tile=16, places=[(1, 0, 0), (5, 3, 0)])
    return Scene(motion, terrain, standing(1, 0, motion, terrain), (0, 4))


@pytest.mark.parametrize("index", [0, 1])
def test_from_rest_on_a_foothold_is_from_rest_on_each_of_its_spots(index: int) -> None:
    scene = on_ledge()
    explorer = Explorer(scene.motion, scene.terrain)
    seen = explorer.explore(rest_on=index)
    foothold = explorer.footholds[index]
    case = case_of(scene.motion, scene.terrain, scene.start)
    y = foothold.row * scene.terrain.tile - scene.motion.body_h
    spots = range(foothold.left_spx, foothold.right_spx + 1)
    found = search(case, [case.start._replace(x=x, y=y) for x in spots])
    assert seen.complete and found.ended
    assert tiles_of(seen) == found.tiles
    assert seen.touched.tolist() == [name in found.places for name in "01"]
    assert seen.rested.tolist() == seen.landed.tolist() == [index == 0, True]


RUNWAY = ["............"] * 3 + ["####........", "............", "....SSS..###"]
"""Springs that throw 28 high for 16 ticks, 32 below a runway; two tiles of nothing before the far ground."""


def runway(fast: bool) -> Scene:
    """From the runway one bounces at 6; dropped onto the springs at no more than 1, which is 16 and not 26 far."""
    motion = body(body_w=8, body_h=8, walk_cap=6, air_cap=1, jump_gravity_held=1, jump_gravity=1)
    terrain = make_terrain(RUNWAY, tile=16, launch=8, places=[(0, 2, 0)])
    start = standing(0, 2, motion, terrain) if fast else make_state(5 * 16, 32)
    return Scene(motion, terrain, start, (9, 5))


def springs_of(explorer: Explorer) -> int:
    (spring,) = (foothold.index for foothold in explorer.footholds if foothold.is_spring)
    return spring


@pytest.mark.small
@pytest.mark.parametrize("fast", [True, False])
def test_from_the_bounces_on_a_spring_is_from_those_that_are_known(fast: bool) -> None:
    scene = runway(fast)
    explorer = Explorer(scene.motion, scene.terrain)
    known = explorer.explore(scene.start)
    seen = explorer.explore(bounce_on=springs_of(explorer), known=known)
    column, row = scene.target
    assert known.complete and seen.complete
    assert known.carried[row, column] == seen.carried[row, column] == fast
    assert known.touched[0] == fast
    assert not seen.touched[0] and not seen.carried[3].any()


@pytest.mark.small
def test_from_bounces_that_are_not_all_known_nothing_is_claimed() -> None:
    scene = runway(fast=True)
    explorer = Explorer(scene.motion, scene.terrain)
    cut_short = replace(explorer.explore(scene.start), complete=False, why="memory limit")
    seen = explorer.explore(bounce_on=springs_of(explorer), known=cut_short)
    assert (seen.complete, seen.why) == (False, "memory limit")
    assert claims_nothing(seen, scene)


@pytest.mark.small
def test_an_exploration_without_a_beginning_is_refused() -> None:
    """An empty set would be complete, and everything unreachable."""
    scene = runway(fast=True)
    explorer = Explorer(scene.motion, scene.terrain)
    for beginning in ({}, {"start": scene.start, "rest_on": 0}, {"bounce_on": springs_of(explorer)}):
        with pytest.raises(ValueError, match="begins with"):
            explorer.explore(**beginning)  # type: ignore[arg-type]


STARTS = ["........", "......#.", "...!....", "........", "..S..^..", "..###..."]


@pytest.mark.parametrize(
    "start",
    [
        pytest.param(make_state(36, 8), id="in the air"),
        pytest.param(make_state(34, 56, grounded=1), id="on a spring"),
        pytest.param(make_state(60, 72, grounded=1), id="on the ground"),
    ],
)
def test_a_start_may_be_anywhere(start: State) -> None:
    motion = body(body_w=8, body_h=8, jump_launch=6, jump_gravity_held=1, jump_gravity=1, walk_cap=2, air_cap=2)
    terrain = make_terrain(STARTS, tile=16, launch=7)
    found = every_state(motion, terrain, start)
    seen = explored(Scene(motion, terrain, start, (3, 5)))
    assert tiles_of(seen) == found.tiles
    assert seen.touched.tolist() == ["0" in found.places]
    assert bool(seen.losing.any() or seen.losing_start) == found.can_be_lost


STEPS = ["........", "........", "##......", "####..+.", "######^^"]


@pytest.mark.small
def test_an_exploration_may_end_at_the_first_touch_or_loss() -> None:
    """Three steps down to spikes, with a place above them."""
    motion = body(body_w=8, body_h=8, jump_launch=3, jump_gravity_held=1, jump_gravity=1, walk_cap=1, air_cap=1)
    terrain = make_terrain(STEPS, tile=16)
    explorer = Explorer(motion, terrain)
    seen = explorer.explore(make_state(2, 24, grounded=1))
    assert seen.complete and seen.touched[0] and seen.rested.tolist() == [True] * 3
    assert seen.losing.tolist() == [False, False, True]
    for why, options in {"touch": {"until_touched": [0]}, "loss": {"until_lost": True}}.items():
        ended = explorer.explore(rest_on=0, **options)  # type: ignore[arg-type]
        assert (ended.complete, ended.why) == (False, why)
        assert (ended.touched[0], ended.losing[2]) == (True, True)
        assert ended.polygon_ticks <= seen.polygon_ticks


@pytest.mark.small
def test_a_start_that_is_lost_or_ended_has_no_successors() -> None:
    motion = body(body_w=8, body_h=8)
    terrain = make_terrain(STARTS, tile=16)
    lost = explored(Scene(motion, terrain, make_state(82, 72, lost=1), (3, 5)))
    assert not lost.carried.any() and not lost.touched.any() and not lost.coverage.any()
    ended = explored(Scene(motion, terrain, make_state(52, 36, ended=1), (3, 5)))
    assert not ended.carried.any() and ended.moves == ()
    assert ended.touched.tolist() == [True]
    assert ended.place_moves == ((-1, 0, True),)
    assert ended.coverage.sum() == 4 * 4


# Limits ---------------------------------------------------------------------------------------------------------------


@pytest.fixture
def narrow(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """All arrays are first made as small as they can be; returns what has been made."""
    made: list[str] = []
    make_ground, make_job = heap.make_ground, heap.make_job

    def narrow_ground(footholds: int, room: int) -> np.ndarray:
        made.append("ground")
        return make_ground(footholds, 1 if room == 4096 else room)

    def narrow_job(places: int, room: int, keep: bool) -> np.ndarray:
        made.append("job")
        return make_job(places, max(1, room // 512), keep)

    monkeypatch.setattr(heap, "make_ground", narrow_ground)
    monkeypatch.setattr(heap, "make_job", narrow_job)
    return made


GROWING = ["the_push_of_a_speed_band_begins_at_its_threshold", "a_second_coyote_tick_lengthens_it_again"]


@pytest.mark.small
@pytest.mark.parametrize("name", [*GROWING, "nothing_gets_into_a_closed_chamber", "a_buffered_jump_may_never_be_held"])
def test_arrays_that_grow_change_nothing(name: str, request: pytest.FixtureRequest) -> None:
    scene = micro(name, works=name != "nothing_gets_into_a_closed_chamber")
    wide = explored(scene)
    made = request.getfixturevalue("narrow")
    narrow = explored(scene)
    assert made.count("ground") > 2 and made.count("job") > 2
    assert marks(narrow) == marks(wide)


@pytest.mark.small
def test_bounces_that_need_more_room_are_all_followed(request: pytest.FixtureRequest) -> None:
    scene = runway(fast=True)
    explorer = Explorer(scene.motion, scene.terrain)
    known = explorer.explore(scene.start)
    wide = explorer.explore(bounce_on=springs_of(explorer), known=known)
    made = request.getfixturevalue("narrow")
    narrow = explorer.explore(bounce_on=springs_of(explorer), known=known)
    assert made.count("ground") > 1
    assert marks(narrow) == marks(wide)
    short = explorer.explore(bounce_on=springs_of(explorer), known=known, memory_limit_mib=0.0)
    assert (short.complete, short.why) == (False, "memory limit")


@pytest.mark.small
@pytest.mark.parametrize("name", GROWING)
def test_over_the_memory_limit_nothing_is_claimed(name: str, narrow: list[str]) -> None:
    scene = micro(name)
    explorer = Explorer(scene.motion, scene.terrain)
    short = explorer.explore(scene.start, memory_limit_mib=2.45)  # it begins with 2.36
    assert narrow.count("job") > 1
    assert (short.complete, short.why) == (False, "memory limit")
    assert claims_nothing(short, scene)
    assert marks(explorer.explore(scene.start, memory_limit_mib=500.0)) == marks(explored(scene))


@pytest.mark.small
def test_a_memory_limit_under_the_first_room_is_kept_too() -> None:
    scene = micro(GROWING[0])
    short = Explorer(scene.motion, scene.terrain).explore(scene.start, memory_limit_mib=1.0)
    assert (short.complete, short.why, short.polygon_ticks) == (False, "memory limit", 0)


@pytest.mark.small
def test_after_the_deadline_nothing_is_claimed() -> None:
    scene = micro(GROWING[0])
    explorer = Explorer(scene.motion, scene.terrain)
    late = explorer.explore(scene.start, deadline=time.monotonic())
    assert (late.complete, late.why) == (False, "time limit")
    assert claims_nothing(late, scene)
    assert not late.landed[1:].any()


@pytest.mark.small
def test_a_deadline_that_passes_on_the_way_ends_the_next_job() -> None:
    scene = micro(GROWING[0])
    explorer = Explorer(scene.motion, scene.terrain)
    jobs = []

    def outlast_the_timer(node: int, job: np.ndarray) -> None:
        jobs.append(node)
        for timer in threading.enumerate():
            if isinstance(timer, threading.Timer):
                timer.join(WAITED_S)

    late = explorer.explore(scene.start, deadline=time.monotonic() + 0.5, seen=outlast_the_timer)
    assert (late.complete, late.why) == (False, "time limit")
    assert len(jobs) <= 1
    assert claims_nothing(late, scene)


@pytest.mark.small
def test_a_deadline_that_does_not_pass_changes_nothing() -> None:
    scene = micro(GROWING[0])
    explorer = Explorer(scene.motion, scene.terrain)
    assert marks(explorer.explore(scene.start, deadline=time.monotonic() + 10_000)) == marks(explored(scene))
    assert not any(isinstance(thread, threading.Timer) for thread in threading.enumerate())


# Progress -------------------------------------------------------------------------------------------------------------


@pytest.mark.small
def test_progress_tells_how_many_footholds_are_done_and_waiting() -> None:
    scene = micro(GROWING[0])
    told: list[tuple[int, int]] = []
    heard = threading.Event()

    def progress(done: int, waiting: int) -> None:
        told.append((done, waiting))
        heard.set()

    def wait(node: int, job: np.ndarray) -> None:
        assert heard.wait(WAITED_S)

    seen = Explorer(scene.motion, scene.terrain).explore(scene.start, progress=progress, seen=wait)
    assert told[0] == (0, 0)
    assert marks(seen) == marks(explored(scene))


@pytest.mark.small
def test_what_progress_raises_ends_the_exploration(monkeypatch: pytest.MonkeyPatch) -> None:
    """The job on the way sees the mark that stops it; no other begins."""
    scene = micro(GROWING[0])
    runs: list[explore.ExplorationRun] = []
    jobs: list[int] = []

    class Kept(explore.ExplorationRun):
        def __init__(self, *args: Any) -> None:
            super().__init__(*args)
            runs.append(self)

    def progress(done: int, waiting: int) -> None:
        raise KeyboardInterrupt

    def outlast_the_mark(node: int, job: np.ndarray) -> None:
        jobs.append(node)
        end = time.monotonic() + WAITED_S
        while not runs[0].stopped and time.monotonic() < end:
            time.sleep(0.01)

    monkeypatch.setattr(explore, "ExplorationRun", Kept)
    began = time.monotonic()
    with pytest.raises(KeyboardInterrupt):
        Explorer(scene.motion, scene.terrain).explore(scene.start, progress=progress, seen=outlast_the_mark)
    assert runs[0].stopped and len(jobs) == 1
    assert time.monotonic() - began < WAITED_S


@pytest.mark.small
def test_an_exploration_may_end_just_after_the_driver_looked(monkeypatch: pytest.MonkeyPatch) -> None:
    scene = micro(GROWING[0])
    looks: list[bool] = []
    wait = explore.wait

    def look_too_early(futures: Any, timeout: float) -> Any:
        looks.append(wait(futures, timeout=WAITED_S).done == set(futures))
        return wait(futures, timeout=0) if len(looks) > 1 else SimpleNamespace(done=set())

    monkeypatch.setattr(explore, "wait", look_too_early)
    assert marks(Explorer(scene.motion, scene.terrain).explore(scene.start)) == marks(explored(scene))
    assert looks[:2] == [True, True]


@pytest.mark.small
def test_what_a_job_raises_ends_the_exploration_even_a_timeout() -> None:
    scene = micro(GROWING[0])

    def fail(node: int, job: np.ndarray) -> None:
        raise TimeoutError("of the job")

    with pytest.raises(TimeoutError, match="of the job"):
        Explorer(scene.motion, scene.terrain).explore(scene.start, seen=fail)


class Grower:
    """A bench whose job needs more room once, and takes its time until it says so."""

    def __init__(self, waits_s: float) -> None:
        self.waits_s = waits_s
        self.nbytes = 2**20
        self.marks = np.zeros(1, np.int64)

    def work_out(self, *_: Any) -> str | None:
        time.sleep(self.waits_s)
        return "found" if self.nbytes > 2**20 else None

    def enlarge(self) -> None:
        self.nbytes *= 2


@pytest.mark.parametrize("slower", [0, 1])
def test_which_job_gets_the_last_room_does_not_depend_on_who_is_faster(slower: int) -> None:
    scene = micro("a_buffered_jump_may_never_be_held")
    run = ExplorationRun(Explorer(scene.motion, scene.terrain), None, None, None)
    run.benches = cast(Any, [Grower(0.05 if number == slower else 0.0) for number in range(2)])
    arrays = (run.world, run.marks, run.carried, run.cover, run.ground)
    run.memory_limit_mib = sum(each.nbytes for each in arrays) / 2**20 + 3.5
    beginnings = [Beginning(number, heap.FROM_REST) for number in range(2)]
    assert run._made([0, 1], beginnings) == {0: "found", 1: "memory limit"}
