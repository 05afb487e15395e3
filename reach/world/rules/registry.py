"""The rules of a world, found by looking at the modules of this package: a rule is added by adding a file.

As in `reach.rules.registry`, the module's docstring is the rule's manual page; `find(evidence) -> list[WorldFinding]`.
"""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from types import ModuleType
from typing import TYPE_CHECKING

import reach.world.rules
from reach.findings import Severity
from reach.rules import stale_accept
from reach.world.result import WorldFinding

if TYPE_CHECKING:
    from reach.world.world_evidence import WorldEvidence
    from reach.world.world_file import WorldAccept


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
    """Return what all rules find: by severity (errors first), what follows from something else
    last, then rule, level in the world's order, place, message.

    What the world file accepts is marked as such; an entry that accepts nothing is a note, unless a check failed or hit
    a limit, since the finding may then only not have been made. The levels of a folder have nothing to do with each
    other, and nothing is found about them as a whole.
    """
    if not evidence.world.linked:
        return ()
    ids = {level.id: index for index, level in enumerate(evidence.world.levels)}

    def order(found: WorldFinding) -> tuple[int, bool, str, int, str, str]:
        index = -1 if found.level is None else ids[found.level]
        return -found.severity.rank, found.follows, found.rule, index, found.place or "", found.message

    accept = evidence.world.accept
    findings = [_accepted(found, accept) for rule in all_rules() for found in rule.find(evidence)]
    if all(outcome.report is not None and outcome.report.complete for outcome in evidence.outcomes.values()):
        findings += [_stale(entry) for entry in accept if not any(_accepts(entry, found) for found in findings)]
    return tuple(sorted(findings, key=order))


def _accepts(entry: WorldAccept, found: WorldFinding) -> bool:
    """Tell whether an entry means a finding: the same rule, and the level and the place if it names them."""
    same_level = entry.level in (None, found.level)
    return entry.rule == found.rule and same_level and entry.place in (None, found.place)


def _accepted(found: WorldFinding, accept: Sequence[WorldAccept]) -> WorldFinding:
    return replace(found, accepted=next((entry.reason for entry in accept if _accepts(entry, found)), None))


def _stale(entry: WorldAccept) -> WorldFinding:
    where = "/".join(filter(None, (entry.level, entry.place)))
    return WorldFinding(
        stale_accept.RULE,
        Severity.NOTE,
        entry.level,
        entry.place,
        f"The world file accepts a finding of '{entry.rule}'{f' about {where!r}' if where else ''} that is not found.",
        "Remove the entry from the accept list of the world file, or correct its rule or what it is about.",
    )


def _rule(module: ModuleType) -> WorldRule:
    page = (module.__doc__ or "").strip() + "\n"
    return WorldRule(
        id=module.__name__.rpartition(".")[2].replace("_", "-"),
        summary=page.partition("\n")[0],
        page=page,
        find=module.find,
    )
