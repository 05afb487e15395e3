"""Every single state of a small world, by the oracle: the truth that a superset is measured with.

Takes the package's own `Motion`, `Terrain` and `State`, so that worlds of a few subpixels a tile can be asked about,
which no file could describe. The search itself is the oracle's.
"""

from __future__ import annotations

import numpy as np

from reach.kernels.params import Motion, State, Terrain
from tests import oracle
from tests.oracle import Body, Rules, World
from tests.oracle_files import Case, Search, search


def rules_of(motion: Motion) -> Rules:
    """The oracle's numbers of a motion."""
    return Rules(
        width=motion.body_w,
        height=motion.body_h,
        walk=np.array([motion.walk_accel, motion.walk_cap], np.int64),
        run=np.array([motion.run_accel, motion.run_cap] if motion.has_run else [], np.int64),
        memory=motion.run_memory,
        coast=motion.coast,
        reverse=motion.reverse,
        jumps=np.column_stack(
            [motion.jump_from, motion.jump_launch, motion.jump_gravity_held, motion.jump_gravity]
        ).astype(np.int64),
        cut=motion.cut_speed,
        gravity_at_launch=motion.launch_tick_gravity,
        terminal=motion.terminal,
        air_push=np.column_stack([motion.air_accel_from, motion.air_accel]),
        air_brake=np.column_stack([motion.air_reverse_from_speed, motion.air_reverse_from_takeoff, motion.air_reverse]),
        air_top=np.column_stack([motion.air_cap_from, motion.air_cap]),
        drag=motion.drag,
        coyote=motion.coyote_ticks,
        buffer=motion.buffer_ticks,
        drops=motion.drop_through,
    )


def case_of(motion: Motion, terrain: Terrain, start: State) -> Case:
    """A world and a start as the oracle's case; the places are named by their index."""
    places = np.column_stack([terrain.place_column, terrain.place_row, terrain.place_ends]).astype(np.int64)
    kinds = np.array([oracle.NOTHING, oracle.WALL, oracle.LEDGE, oracle.SPIKES, oracle.BOUNCER], np.uint8)
    world = World(terrain.tile, kinds[terrain.material], terrain.launch, places)
    names = tuple(str(i) for i in range(len(places)))
    return Case(rules_of(motion), world, names, Body(*(int(value) for value in start)), True)


def every_state(motion: Motion, terrain: Terrain, start: State, limit: int = 400_000) -> Search:
    """Every state that any input leads to from a start; `ended` is false where there are more than the limit."""
    return search(case_of(motion, terrain, start), limit=limit)
