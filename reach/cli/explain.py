"""`reach explain`: a finding's manual page."""

from __future__ import annotations

from typing import Annotated

import typer

from reach.cli import streams
from reach.cli.rule_pages import rule_pages
from reach.errors import InputError, Problem


def _rule_ids(incomplete: str) -> list[str]:
    return [each.id for each in rule_pages() if each.id.startswith(incomplete)]


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

    pages = rule_pages()
    if rule is None:
        width = max(len(each.id) for each in pages)
        streams.write_text("".join(f"{each.id:{width}}  {each.summary}\n" for each in pages))
        return
    for each in pages:
        if each.id == rule:
            streams.write_text(each.page)
            return
    ids = [each.id for each in pages]
    raise InputError([Problem("<arguments>", "RULE", repr(rule), f"one of {', '.join(ids)}{nearest(rule, ids)}")])
