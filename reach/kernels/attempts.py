"""Attempts: one try at a piece of script from a node, as a row of numbers, and the grid of them made from every node.

Directions are relative to the attempt's facing (+1 is ahead) until it is drawn up; then they are -1 left, +1 right.
"""

import numpy as np

(
    NODE,
    TAP_DIRECTION,
    TAP_TICKS,
    RUN_DIRECTION,
    RUN,
    RUN_TICKS,
    PAUSE_AT,
    RUN_CELLS,
    DEPART,
    COYOTE,
    DIRECTION,
    HOLD,
    STEER_1,
    UNTIL_1,
    STEER_2,
    UNTIL_2,
    STEER_3,
    IN_APEXES,
    FITS,
) = range(19)
ATTEMPT_FIELDS = 19
"""Fields of an attempt.

NODE it begins at. TAP_: a direction held for some ticks, then coasting to rest. RUN_: a direction held for RUN_TICKS
with the RUN button up or down (the button stays as it is to the end), nothing held in the tick PAUSE_AT (-1: none),
given up RUN_CELLS half tiles away (0: never). Then DEPART as below, with DIRECTION held in that tick; COYOTE counts
the ticks off the ground before the press. The jump is held for HOLD ticks, at most until the body no longer rises.
STEER_1 is held up to tick UNTIL_1 of the flight, STEER_2 up to UNTIL_2, then STEER_3. IN_APEXES: HOLD and UNTIL are
sixteenths of the ticks to the apex. FITS: the kinds of node it is tried from, FIT_ flags.
"""

STOP, ROLL_ON, JUMP, JUMP_LATE, JUMP_OFF, WALK_OFF, DROP, FLY = range(8)
"""What follows the run-up.

Come to rest; be a moving node of its own; jump; jump in the last tick on the ground, or within coyote time; fall off
the end; drop through a one_way. FLY: the node is off the ground already, or jumps by itself (a buffered press).
"""

FIT_RESTING = 1
FIT_MOVING = 2
FIT_FLYING = 4

NEVER = 1 << 40


def _row(fits: int, depart: int, **values: int) -> list[int]:
    row = [0] * ATTEMPT_FIELDS
    row[PAUSE_AT] = -1
    row[FITS] = fits
    row[DEPART] = depart
    row[IN_APEXES] = 1
    names = {
        "run_direction": RUN_DIRECTION,
        "run": RUN,
        "run_ticks": RUN_TICKS,
        "run_cells": RUN_CELLS,
        "coyote": COYOTE,
        "direction": DIRECTION,
        "hold": HOLD,
        "steer_1": STEER_1,
        "until_1": UNTIL_1,
        "steer_2": STEER_2,
        "until_2": UNTIL_2,
        "steer_3": STEER_3,
    }
    for name, value in values.items():
        row[names[name]] = value
    return row


def attempt_table(has_run: bool, drop_through: bool, coyote_ticks: int) -> np.ndarray:
    """Return the attempts made from every node, int64 [n, ATTEMPT_FIELDS]; each is also made facing the other way."""
    rows: list[list[int]] = []
    steerings = (
        {"steer_1": 1, "until_1": NEVER},
        {"steer_1": 0, "until_1": NEVER},
        {"steer_1": 1, "until_1": 8, "steer_2": -1, "until_2": NEVER},
        {"steer_1": 1, "until_1": 16, "steer_2": -1, "until_2": NEVER},
        {"steer_1": 1, "until_1": 16, "steer_2": 0, "until_2": NEVER},
        {"steer_1": -1, "until_1": NEVER},
        {"steer_1": -1, "until_1": 8, "steer_2": 1, "until_2": NEVER},
        {"steer_1": 0, "until_1": 12, "steer_2": 1, "until_2": NEVER},
    )
    holds = (1, 5, 10, NEVER)
    runs = (1, 0) if has_run else (0,)
    ground = FIT_RESTING | FIT_MOVING
    for run in runs:
        ahead = {"run_direction": 1, "run": run}
        rows.append(_row(ground, ROLL_ON, run_ticks=NEVER, run_cells=1, **ahead))
        rows.append(_row(ground, STOP, run_ticks=1, **ahead))
        rows.append(_row(ground, STOP, run_ticks=4, **ahead))
        rows.extend(
            _row(ground, WALK_OFF, run_ticks=NEVER, run_cells=3, direction=1, **ahead, **steering)
            for steering in steerings
        )
    ahead = {"run_direction": 1, "run": int(has_run), "direction": 1}
    for steering in steerings:
        for hold in holds:
            rows.append(_row(ground, JUMP, hold=hold, **ahead, **steering))
            rows.append(_row(ground, JUMP_LATE, run_ticks=NEVER, run_cells=3, hold=hold, **ahead, **steering))
            if coyote_ticks > 0:
                late = {"coyote": coyote_ticks, "run_ticks": NEVER, "run_cells": 3}
                rows.append(_row(ground, JUMP_OFF, hold=hold, **late, **ahead, **steering))
        if drop_through:
            rows.append(_row(ground, DROP, **ahead, **steering))
        rows.append(_row(FIT_FLYING, FLY, hold=0, **ahead, **steering))
    return np.array(rows, np.int64)
