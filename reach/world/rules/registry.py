"""The rules of a world, found by looking at the modules of this package: a rule is added by adding a file.

As in `reach.rules.registry`, the module's docstring is the rule's manual page; `find(evidence) -> list[WorldFinding]`.
"""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from types import ModuleType
from typing import TYPE_CHECKING

import reach.world.rules

if TYPE_CHECKING:
    from reach.world.result import WorldFinding
    from reach.world.world_evidence import WorldEvidence


@dataclass(frozen=True)
class WorldRule:
    """One rule: its id, the first line and the whole of its manual page, and its function."""

    id: str
    summary: str
    page: str
    find: Callable[[WorldEvidence], list[WorldFinding]]


@cache
def all_rules() -> tuple[WorldRule, ...]:
    """Return every rule of a world, sorted by id."""
    names = sorted(module.name for module in pkgutil.iter_modules(reach.world.rules.__path__))
    modules = [importlib.import_module(f"reach.world.rules.{name}") for name in names if name != "registry"]
    return tuple(sorted((_rule(module) for module in modules), key=lambda rule: rule.id))


def judge(evidence: WorldEvidence) -> tuple[WorldFinding, ...]:
    """Return what all rules find: by severity (errors first), then rule, level in the world's order, place, message.

    The levels of a folder have nothing to do with each other, and nothing is found about them as a whole.
    """
    if not evidence.world.linked:
        return ()
    ids = {level.id: index for index, level in enumerate(evidence.world.levels)}

    def order(found: WorldFinding) -> tuple[int, str, int, str, str]:
        index = -1 if found.level is None else ids[found.level]
        return -found.severity.rank, found.rule, index, found.place or "", found.message

    return tuple(sorted((found for rule in all_rules() for found in rule.find(evidence)), key=order))


def _rule(module: ModuleType) -> WorldRule:
    page = (module.__doc__ or "").strip() + "\n"
    return WorldRule(
        id=module.__name__.rpartition(".")[2].replace("_", "-"),
        summary=page.partition("\n")[0],
        page=page,
        find=module.find,
    )
