"""Tells what a player can reach in a 2-D platform level, with proofs, before anyone plays it.

The names below are imported when first used, so that `import reach` and `reach --help` stay quick: the kernels, numpy
and networkx load only in work that needs them.

Examples
--------
>>> import reach
>>> level = reach.load_level("sample_levels/island/rope_walk.json")  # doctest: +SKIP
>>> movement = reach.load_movement("sample_levels/movement/lamplighter.json")  # doctest: +SKIP
>>> report = reach.check(level, movement)  # doctest: +SKIP
>>> [place.id for place in report.places if place.verdict is reach.Verdict.UNREACHABLE]  # doctest: +SKIP
[]
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from reach.checker import Proof, check, prove
    from reach.errors import InputError, OutputError, Problem, ReachError
    from reach.findings import Finding, Move, PlaceVerdict, Report, Severity, Verdict
    from reach.level import Level, Place, level_from_dict, load_level
    from reach.level_sources import load_any_level
    from reach.movement import Movement, load_movement, movement_from_dict
    from reach.options import CheckOptions
    from reach.script import Script, Step, load_script, save_script
    from reach.simulator import Replay, replay
    from reach.world.result import WorldReport
    from reach.world.world_checker import check_world
    from reach.world.world_file import load_world

    __version__: str

__all__ = [
    "CheckOptions",
    "Finding",
    "InputError",
    "Level",
    "Move",
    "Movement",
    "OutputError",
    "Place",
    "PlaceVerdict",
    "Problem",
    "Proof",
    "ReachError",
    "Replay",
    "Report",
    "Script",
    "Severity",
    "Step",
    "Verdict",
    "WorldReport",
    "__version__",
    "check",
    "check_world",
    "level_from_dict",
    "load_any_level",
    "load_level",
    "load_movement",
    "load_script",
    "load_world",
    "movement_from_dict",
    "prove",
    "replay",
    "save_script",
]

_HOMES = {
    "reach.checker": ("Proof", "check", "prove"),
    "reach.errors": ("InputError", "OutputError", "Problem", "ReachError"),
    "reach.findings": ("Finding", "Move", "PlaceVerdict", "Report", "Severity", "Verdict"),
    "reach.level": ("Level", "Place", "level_from_dict", "load_level"),
    "reach.level_sources": ("load_any_level",),
    "reach.movement": ("Movement", "load_movement", "movement_from_dict"),
    "reach.options": ("CheckOptions",),
    "reach.script": ("Script", "Step", "load_script", "save_script"),
    "reach.simulator": ("Replay", "replay"),
    "reach.world.result": ("WorldReport",),
    "reach.world.world_checker": ("check_world",),
    "reach.world.world_file": ("load_world",),
}
_MODULE_OF = {name: module for module, names in _HOMES.items() for name in names}


def __getattr__(name: str) -> Any:
    """Import a public name when it is first asked for, and keep it."""
    if name == "__version__":
        value: Any = _version()
    elif name in _MODULE_OF:
        value = getattr(importlib.import_module(_MODULE_OF[name]), name)
    else:
        raise AttributeError(f"module 'reach' has no attribute {name!r}")
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    """List the public names, loaded or not."""
    return sorted({*globals(), *__all__})


def _version() -> str:
    """Return the installed distribution's version; a bare checkout on the path has none."""
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("levelreach")
    except PackageNotFoundError:
        return "0+checkout"
