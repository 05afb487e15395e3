"""`reach settings`: what a project sets for every run; and how commands come by it."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Annotated, Any

import typer

from reach.cli import streams
from reach.cli.arguments import ReportFormat

if TYPE_CHECKING:
    from reach.settings import Settings

FORMAT = "reach-settings/1"

GIVEN_OTHERWISE = {("world", "movement"), ("compare", "movement")}
"""Options that a setting of the same name is no default of: `usual_movement` gives what stands below the world file."""
READ_OTHERWISE = {("compare", "world")}
"""Settings that a command reads which has no option or argument of that name."""

Commands = Mapping[str, Any]
"""The commands of the command line by name, as typer keeps them."""


def set_defaults(context: typer.Context) -> None:
    """Let the project's settings be the defaults of the command that is about to run.

    Raises
    ------
    InputError
        If the settings cannot be used.
    """
    commands: Commands = getattr(context.command, "commands", {})
    name = context.invoked_subcommand or ""
    if not _settable(commands[name]):
        return
    from reach.settings import find_settings

    settings = find_settings()
    context.obj = settings
    taken = [key for key in _settable(commands[name]) if key in settings.values and (name, key) not in GIVEN_OTHERWISE]
    context.default_map = {name: {key: _default(settings, key) for key in taken}}


def usual_movement(context: typer.Context) -> str | None:
    """Return the movement profile that is set for levels for which nothing else names one, None if none is.

    Raises
    ------
    InputError
        If it is not there.
    """
    return _usual(context, "movement")


def usual_world(context: typer.Context) -> str | None:
    """Return the world that is set for commands that are given none, None if none is.

    Raises
    ------
    InputError
        If it is not there.
    """
    return _usual(context, "world")


def _usual(context: typer.Context, key: str) -> str | None:
    settings: Settings | None = context.obj
    return settings.path(key) if settings is not None and key in settings.values else None


def settings_file(context: typer.Context) -> str:
    """Return the file that settings were taken from, "" if there is none."""
    settings: Settings | None = context.obj
    return "" if settings is None else settings.file


def settings(
    context: typer.Context,
    report_format: Annotated[ReportFormat, typer.Option("--format", help="How to write the list.")] = ReportFormat.TEXT,
) -> None:
    """List what the project sets for every run.

    It holds for commands that are not given the option of the same name. Settings stand in reach.toml, or in
    [tool.reach] of pyproject.toml, in this folder or one above it.
    """
    from reach.settings import find_settings

    found = find_settings()
    commands: Commands = getattr(context.find_root().command, "commands", {})
    rows = _rows(found, commands)
    if report_format is ReportFormat.JSON:
        data = {"format": FORMAT, "file": found.file or None, "looked_in": list(found.looked_in), "settings": rows}
        streams.write_data(json.dumps(data, ensure_ascii=False, indent=2) + "\n")
        return
    streams.write_text(_text(found, rows))


def _settable(command: Any) -> list[str]:
    """The settings that are options of a command, or what it reads."""
    from reach.settings import KEYS

    names = {parameter.name for parameter in command.params}
    return [key for key in KEYS if key in names]


def _default(settings: Settings, key: str) -> str | int | float | Callable[[], str]:
    """A value, or for a file what tells it: a file is looked for only where the command line names no other."""
    from reach.settings import FILES

    return (lambda: settings.path(key)) if key in FILES else settings.values[key]


def _rows(found: Settings, commands: Commands) -> list[dict[str, Any]]:
    from reach.settings import descriptions

    rows = []
    for key, description in descriptions().items():
        takers = [name for name in sorted(commands) if key in _settable(commands[name])]
        takers = [name for name in takers if (name, key) != ("compare", "movement")]
        # Commands that share a setting share its option, and so its default.
        default = next(each.default for each in commands[takers[0]].params if each.name == key)
        rows.append(
            {
                "setting": key,
                "value": found.values.get(key, getattr(default, "value", default)),
                "from": "file" if key in found.values else "default",
                "commands": sorted({*takers, *(name for name, read in READ_OTHERWISE if read == key)}),
                "description": description,
            }
        )
    return rows


def _text(found: Settings, rows: list[dict[str, Any]]) -> str:
    from reach.settings import OWN_FILE, SHARED_FILE, TABLE

    head = f"settings of {found.file}"
    if not found.file:
        head = f"no settings: no {OWN_FILE}, and no [{TABLE}] in a {SHARED_FILE}, in {', '.join(found.looked_in)}"
    lines = [("setting", "value", "from", "for")]
    for row in rows:
        value = "-" if row["value"] is None else str(row["value"])
        source = found.file if row["from"] == "file" else "default"
        lines.append((row["setting"], value, source, ", ".join(row["commands"])))
    widths = [max(len(line[column]) for line in lines) for column in range(3)]
    table = [
        "".join(f"  {cell.ljust(width)}" for cell, width in zip(line[:3], widths, strict=True)) + f"  {line[3]}"
        for line in lines
    ]
    return "\n".join([head, "", *table]) + "\n"
