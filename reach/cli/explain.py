"""`reach explain`: a finding's manual page."""

from __future__ import annotations

from typing import Annotated

import typer

from reach.cli import streams


def _rule_ids(incomplete: str) -> list[str]:
    from reach.rules.registry import all_rules

    return [rule.id for rule in all_rules() if rule.id.startswith(incomplete)]


def explain(
    rule: Annotated[
        str | None,
        typer.Argument(metavar="[RULE]", help="A finding's id, as reports show it.", autocompletion=_rule_ids),
    ] = None,
) -> None:
    """Explain a finding, or list them all.

    What it finds, why it matters, how it is decided, what to do.
    """
    from reach.rules import registry

    if rule is not None:
        streams.write_text(registry.rule(rule).page)
        return
    rules = registry.all_rules()
    width = max(len(each.id) for each in rules)
    streams.write_text("".join(f"{each.id:{width}}  {each.summary}\n" for each in rules))
