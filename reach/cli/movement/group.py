"""The command group `reach movement`."""

from __future__ import annotations

import typer

from reach.cli.movement import compare, curves, fit, new, parity, sheet, tracing

group = typer.Typer(name="movement", rich_markup_mode=None, invoke_without_command=True)


@group.callback()
def start(context: typer.Context) -> None:
    """See, measure, make and compare movement profiles."""
    if context.invoked_subcommand is None:
        typer.echo(context.get_help(), err=True)
        raise typer.Exit(2)


for _command in (
    sheet.sheet,
    compare.compare,
    curves.curves,
    new.new,
    fit.fit,
    tracing.trace,
    parity.parity,
):
    group.command(no_args_is_help=False)(_command)
