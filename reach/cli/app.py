"""The command line: its commands, its help and its version."""

from __future__ import annotations

from typing import Annotated

import typer

from reach.cli import check, compare, convert, draw, explain, prove, replay, settings, watch, world
from reach.cli.movement.group import group as movement

app = typer.Typer(
    name="reach",
    help="Tells what a player can reach in a 2-D platform level, with proofs, before anyone plays it.",
    epilog="Exit codes: 0 nothing found, 1 findings, 2 the job could not be done, 3 undecided, 70 internal error.",
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    invoke_without_command=True,
    context_settings={"help_option_names": ["--help", "-h"]},
)
for _command in (
    check.check,
    watch.watch,
    world.world,
    compare.compare,
    prove.prove,
    replay.replay,
    draw.draw,
    convert.convert,
    explain.explain,
    settings.settings,
):
    app.command(no_args_is_help=False)(_command)
app.add_typer(movement)


def _print_version(wanted: bool) -> None:
    if wanted:
        import reach

        typer.echo(f"reach {reach.__version__}")
        raise typer.Exit


@app.callback()
def start(
    context: typer.Context,
    version: Annotated[
        bool, typer.Option("--version", help="Print the version and leave.", callback=_print_version, is_eager=True)
    ] = False,
) -> None:
    """Tell what a player can reach in a 2-D platform level, with proofs, before anyone plays it."""
    if context.invoked_subcommand is None:
        typer.echo(context.get_help(), err=True)
        raise typer.Exit(2)
    settings.set_defaults(context)
