"""The rules, found by looking at the modules of this package: a rule is added by adding a file.

A rule module `tight_landing` stands for the rule `tight-landing`. Its docstring is the rule's manual page. It has a
function `find(evidence) -> list[Finding]`, or, if it judges what the other rules found, `find_among(evidence,
findings)`.
"""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from types import ModuleType

import reach.rules
from reach.evidence import Evidence
from reach.findings import Finding
from reach.level import Accept

HEADINGS = ("What it finds", "Why it matters", "How it is decided", "Options", "Example", "What to do")
"""The headings of every rule's manual page, in this order."""


@dataclass(frozen=True)
class Rule:
    """One rule: its id, the first line and the whole of its manual page, and its function (exactly one of the two)."""

    id: str
    summary: str
    page: str
    find: Callable[[Evidence], list[Finding]] | None
    find_among: Callable[[Evidence, Sequence[Finding]], list[Finding]] | None


@cache
def all_rules() -> tuple[Rule, ...]:
    """Return every rule, sorted by id."""
    names = sorted(module.name for module in pkgutil.iter_modules(reach.rules.__path__))
    modules = [importlib.import_module(f"reach.rules.{name}") for name in names if name != "registry"]
    return tuple(sorted((_rule(module) for module in modules), key=lambda rule: rule.id))


def judge(evidence: Evidence) -> tuple[Finding, ...]:
    """Return what all rules find, with the level's accepted findings marked as such.

    Sorted by severity (errors first), then rule, then tile by row and column, then message.
    """
    findings = [finding for each in all_rules() if each.find for finding in each.find(evidence)]
    findings = [_accepted(finding, evidence.level.accept) for finding in findings]
    findings += [finding for each in all_rules() if each.find_among for finding in each.find_among(evidence, findings)]
    return tuple(sorted(findings, key=_order))


def accepts(accept: Accept, finding: Finding) -> bool:
    """Tell whether an `accept` entry means this finding: the same rule, and the same tile if it names one."""
    return accept.rule == finding.rule and accept.at in (None, finding.at)


def _accepted(finding: Finding, entries: Sequence[Accept]) -> Finding:
    reason = next((entry.reason for entry in entries if accepts(entry, finding)), None)
    return replace(finding, accepted=reason)


def _order(finding: Finding) -> tuple[int, str, int, int, str]:
    column, row = finding.at or (-1, -1)
    return (-finding.severity.rank, finding.rule, row, column, finding.message)


def _rule(module: ModuleType) -> Rule:
    page = (module.__doc__ or "").strip() + "\n"
    return Rule(
        id=module.__name__.rpartition(".")[2].replace("_", "-"),
        summary=page.partition("\n")[0],
        page=page,
        find=getattr(module, "find", None),
        find_among=getattr(module, "find_among", None),
    )
