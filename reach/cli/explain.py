"""`reach explain`: a finding's manual page."""

from __future__ import annotations

from typing import Annotated

import typer

from reach.cli import streams
from reach.errors import InputError, Problem


def _rule_ids(incomplete: str) -> list[str]:
    return [rule_id for rule_id, _, _ in _pages() if rule_id.startswith(incomplete)]


def _pages() -> list[tuple[str, str, str]]:
    """Return the id, first line and manual page of every rule: those of a level, then those of a world."""
    from reach.rules import registry
    from reach.world.rules import registry as world_registry

    pages = [(each.id, each.summary, each.page) for each in registry.all_rules()]
    return pages + [(each.id, each.summary, each.page) for each in world_registry.all_rules()]


def explain(
    rule: Annotated[
        str | None,
        typer.Argument(metavar="[RULE]", help="A finding's id, as reports show it.", autocompletion=_rule_ids),
    ] = None,
) -> None:
    """Explain a finding, or list them all.

    What it finds, why it matters, how it is decided, what to do.
    """
    from reach.schema import nearest

    pages = _pages()
    if rule is None:
        width = max(len(rule_id) for rule_id, _, _ in pages)
        streams.write_text("".join(f"{rule_id:{width}}  {summary}\n" for rule_id, summary, _ in pages))
        return
    for rule_id, _, page in pages:
        if rule_id == rule:
            streams.write_text(page)
            return
    ids = [rule_id for rule_id, _, _ in pages]
    raise InputError([Problem("<arguments>", "rule", repr(rule), f"one of {', '.join(ids)}{nearest(rule, ids)}")])
