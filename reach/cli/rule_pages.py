"""The manual pages of all rules: those of a level, then those of a world."""

from __future__ import annotations

from typing import NamedTuple


class RulePage(NamedTuple):
    """A rule's id, the first line and the whole of its manual page, and whether it is about a world."""

    id: str
    summary: str
    page: str
    of_world: bool


def rule_pages() -> list[RulePage]:
    """Return the pages of the rules of a level, sorted by id, then of those of a world, sorted by id."""
    from reach.rules import registry
    from reach.world.rules import registry as world_registry

    pages = [RulePage(each.id, each.summary, each.page, False) for each in registry.all_rules()]
    return pages + [RulePage(each.id, each.summary, each.page, True) for each in world_registry.all_rules()]
