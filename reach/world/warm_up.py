"""Checks of tiny levels that between them call every kernel that a check may call.

Whoever does them first compiles all kernels, once, instead of every process for itself as it comes upon them. That it
was done is noted where the kernels are kept.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from reach.compiler.kernel_cache import KERNELS, Entry, Kept, entry, source_stamp

if TYPE_CHECKING:
    from reach.level import Level
    from reach.movement import Movement

Json = dict[str, Any]

MOVEMENT: Json = {
    "format": "reach-movement/1",
    "name": "warm-up",
    "units": "per_tick",
    "body": {"width_px": 3, "height_px": 3},
    "ground": {
        "walk": {"acceleration": 1, "top_speed": 1},
        "coast_deceleration": 1,
        "reverse_deceleration": 1,
    },
    "jump": {"bands": [{"launch_speed": 2, "gravity": 1, "gravity_held": 1, "from_takeoff_speed": 0}]},
    "fall": {"terminal_speed": 3},
    "air": {"acceleration": 1, "reverse_deceleration": 1, "top_speed": 1},
}


def _jump(launch: float, gravity: float, cut: float | None = None) -> Json:
    band = {"from_takeoff_speed": 0, "launch_speed": launch, "gravity_held": 1, "gravity": gravity}
    return {"bands": [band]} | ({} if cut is None else {"on_release": {"cut_speed": cut}})


def _walk(acceleration: float, top_speed: float) -> Json:
    return MOVEMENT["ground"] | {"walk": {"acceleration": acceleration, "top_speed": top_speed}}


def _air(acceleration: float, top_speed: float) -> Json:
    return MOVEMENT["air"] | {"acceleration": acceleration, "top_speed": top_speed}


CASES: tuple[tuple[tuple[str, ...], Json], ...] = (
    # All that most checks call and nothing that few do: everything can be reached, and is found soon.
    ((*[".........."] * 4, "......####", ".@..=.####", "##########"), {"jump": _jump(3.5, 1)}),
    # A walk off a ledge, and a step that is too high.
    ((".........", "......!#.", "....#....", ".=....@..", "#####.#..", "#####.#.."), {}),
    # A gap whose jump is measured, with a window for a flown script.
    (
        (".....####", "..=..####", ".....####", ".....####", ".........", "@...L....", "######..#", "######..#"),
        {"body": {"width_px": 3, "height_px": 6}, "ground": _walk(1, 2), "jump": _jump(3.5, 2), "air": _air(0.5, 2)},
    ),
    # A spring, and landings that are handed over from one exploration to the next.
    (
        ("....L.+.####", "S.....#.^^^^", "..@^.#......", "...=.#......", "#########.##"),
        {"body": {"width_px": 3, "height_px": 5}, "ground": _walk(0.5, 2), "jump": _jump(3.5, 2), "air": _air(0.5, 2)},
    ),
    # A pickup that only a search of every single state decides.
    (
        (*["..........."] * 4, "...^^^^^^^^", ".........+.", ".......!.@.", "####..#####"),
        {
            "ground": _walk(0.5, 3),
            "jump": _jump(6, 1, cut=1.5),
            "fall": {"terminal_speed": 5},
            "air": _air(1, 3),
            "help": {"buffer_ticks": 1},
        },
    ),
)
"""Rows of each level, and what its movement has that `MOVEMENT` has otherwise."""

SYMBOLS: Json = {
    "S": {"material": "spring", "launch_px_per_s": 300},
    "L": {"place": "goal", "ends_level": False},
}


def prepare() -> None:
    """Have every kernel compiled and kept, unless that was done before or compilation is switched off."""
    from reach.kernels.compiling import DISABLED

    note = _note()
    if not DISABLED and note.load() is None:
        warm_up()
        note.save(Kept("", None, b""))


def _note() -> Entry:
    """Where it is noted that all kernels, as they are now, have been compiled."""
    return entry("warm_up", Path(__file__), " ".join(source_stamp(path) for path in sorted(KERNELS.glob("*.py"))))


def warm_up() -> None:
    """Load every kernel of a check into this process; those that are not kept from earlier are compiled."""
    from reach.checker import check

    for level, movement in tiny_checks():
        check(level, movement)


def tiny_checks() -> Iterator[tuple[Level, Movement]]:
    """Each tiny level, with its movement."""
    from reach.level import level_from_dict
    from reach.movement import movement_from_dict

    for rows, changes in CASES:
        data = {"format": "reach-level/1", "name": "warm-up", "tile_px": 4, "rows": list(rows), "symbols": SYMBOLS}
        yield level_from_dict(data), movement_from_dict(MOVEMENT | changes)
