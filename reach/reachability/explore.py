"""The set exploration: from a start to the fixpoint of everything that any input can lead to."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor, wait
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from reach.kernels import heap
from reach.kernels.params import ONE_WAY, SOLID, SPRING
from reach.kernels.world import make_world
from reach.reachability.aims import find_aims
from reach.reachability.exploration_run import ExplorationRun, JobSeen
from reach.reachability.footholds import find_footholds
from reach.reachability.job_memory import JobMemory, circumstances
from reach.reachability.result import Exploration, Foothold

if TYPE_CHECKING:
    from reach.kernels.params import Motion, State, Terrain


class Explorer:
    """A level and a movement made ready for explorations from different starts."""

    def __init__(
        self,
        motion: Motion,
        terrain: Terrain,
        footholds: tuple[Foothold, ...] | None = None,
        aims: np.ndarray | None = None,
        memory: JobMemory | None = None,
    ) -> None:
        """Build the tables that all explorations of the level share.

        `aims` is what misses are measured to, int64 [rectangles, 5] as of `find_aims`, instead of the places; a number
        that is no place's may stand for anything else, and is never touched. `memory` has what jobs of other explorers
        found, and gets what those of this one find.
        """
        self.motion = motion
        self.terrain = terrain
        self.footholds = find_footholds(motion, terrain) if footholds is None else footholds
        table = np.array(
            [(f.row, f.left_spx, f.right_spx, int(f.is_spring)) for f in self.footholds], np.int64
        ).reshape(-1, 4)
        self.aims = find_aims(motion, terrain, self.footholds) if aims is None else aims
        self.aimed = max([len(terrain.place_row), *(self.aims[:, 0] + 1).tolist()])
        self.world = make_world(motion, terrain, table, self.aims)
        self.memory = JobMemory() if memory is None else memory
        self.cells_above = (motion.body_h - 1) // (terrain.tile // heap.CELLS) + 2
        self.carrying = np.isin(terrain.material, (SOLID, ONE_WAY, SPRING))

    @cached_property
    def circumstances(self) -> bytes:
        """What tells this level and movement from others, but for the tiles; see `job_memory`."""
        return circumstances(self)

    @cached_property
    def numbered(self) -> dict[tuple[int, int, int, bool], int]:
        """The index of each foothold, by its row, its ends and whether it is a spring."""
        return {(f.row, f.left_spx, f.right_spx, f.is_spring): f.index for f in self.footholds}

    def explore(
        self,
        start: State | None = None,
        *,
        rest_on: int | None = None,
        bounce_on: int | None = None,
        takeoff: State | None = None,
        known: Exploration | None = None,
        until_lost: bool = False,
        until_touched: Collection[int] = (),
        deadline: float | None = None,
        memory_limit_mib: float | None = None,
        progress: Callable[[int, int], None] | None = None,
        seen: JobSeen | None = None,
    ) -> Exploration:
        """Everything that any input can lead to from a state, from rest anywhere on a foothold, from a spring's
        bounces, or from one takeoff.

        Parameters
        ----------
        start : State, optional
            A state at rest, on the ground or in the air.
        rest_on : int, optional
            Index of a foothold, instead of `start`.
        bounce_on : int, optional
            Index of a spring, instead of `start`; begins with all bounces that `known` has there.
        takeoff : State, optional
            Instead of `start`, the one takeoff of a body whose x, y and vx are as rule 4 of its tick left them; whether
            the button is up again in that tick is open where there is a jump buffer. Nothing else of it counts.
        known : Exploration, optional
            Has the bounces of `bounce_on`; where it is not complete, the result is not either.
        until_lost, until_touched : bool, collection of int
            Ends at the first loss found, or the first touch of one of these places (`complete` is False then).
        deadline : float, optional
            `time.monotonic()` value at which the exploration gives up (`complete` is False then).
        memory_limit_mib : float, optional
            Most memory for the stored sets.
        progress : callable, optional
            Called a few times a second with (footholds done, footholds waiting).
        seen : callable, optional
            Called after every job; makes the jobs keep their vertical states.

        Returns
        -------
        Exploration
            Approximation: over.

        Raises
        ------
        ValueError
            If there is not exactly one beginning, or nothing known of the bounces.
        """
        beginnings = sum(each is not None for each in (start, rest_on, bounce_on, takeoff))
        if beginnings != 1 or (bounce_on is not None and known is None):
            raise ValueError(
                "an exploration begins with a state, a foothold, a spring and what is known of it, or a takeoff"
            )
        run = ExplorationRun(self, deadline, memory_limit_mib, seen)
        _follow(run, lambda: run.run(start, rest_on, bounce_on, known, takeoff, until_lost, until_touched), progress)
        return run.result()

    def first_to_touch(
        self,
        order: Sequence[int],
        asked: Mapping[int, int],
        known: Exploration,
        *,
        most_polygon_ticks: int,
        deadline: float | None = None,
        memory_limit_mib: float | None = None,
        progress: Callable[[int, int], None] | None = None,
    ) -> tuple[dict[int, int], str]:
        """Find for each place the first of some footholds from which it is touched, and the limit that cut this short.

        From a foothold is from rest anywhere on it; from a spring is from being set down on it at no speed. All is one
        exploration that goes on from foothold to foothold: what follows from one is followed once, and what `known`
        has is not followed again.

        Parameters
        ----------
        order : sequence of int
            Indices of the footholds.
        asked : mapping of int to int
            Index of a place to how many of the footholds are asked about it.
        known : Exploration
            Complete, and touches none of these places.
        most_polygon_ticks : int
            Gives up (`EFFORT`) after so many. What was found before counts.
        deadline, memory_limit_mib, progress
            As of `explore`.

        Returns
        -------
        dict of int to int
            Index of a place to the foothold. Approximation: over; without a limit, places that are left out are
            touched from none of theirs.
        str
            The limit, "" if none was hit.
        """
        run = ExplorationRun(self, deadline, memory_limit_mib, None)
        run.ground = known.ground.copy()
        found: dict[int, int] = {}
        _follow(run, lambda: found.update(run.ask(order, asked, most_polygon_ticks)), progress)
        return found, run.why


def _follow(run: ExplorationRun, work: Callable[[], None], progress: Callable[[int, int], None] | None) -> None:
    """Do a run's work in a thread of its own, telling the progress; what is raised here stops it."""
    with ThreadPoolExecutor(1) as worker:
        try:
            future = worker.submit(work)
            while not wait([future], timeout=0.2).done:
                if progress is not None:
                    progress(run.done, len(run.rest) + len(run.moving))
            future.result()
        except BaseException:
            # the pool waits for its worker
            run.stop()
            raise


def explore(motion: Motion, terrain: Terrain, start: State | None = None, **options: Any) -> Exploration:
    """Explore once; see `Explorer.explore`."""
    return Explorer(motion, terrain).explore(start, **options)
