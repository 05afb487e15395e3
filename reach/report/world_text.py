"""The report on a world as text: the verdict and a table of the levels, worst first; then what was found, in words."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.text import Text

from reach.findings import Severity, Verdict
from reach.report.text_report import TIMING_NOTE
from reach.report.world_findings import HEADINGS, MEANT, Told, counting, meant, notes_of_world, other_notes
from reach.report.world_table import BY_WEIGHT, Standing, rows, titles, with_accepted
from reach.wording import count_words, list_words

if TYPE_CHECKING:
    from reach.world.result import LevelResult, WorldReport

_STYLES = {Severity.ERROR: "bold red", Severity.WARNING: "bold yellow", Severity.NOTE: "bold"}
_STANDING_STYLES = {
    Standing.FAILED: "bold red",
    Standing.NOT_ENTERED: "red",
    Standing.ERRORS: "red",
    Standing.UNDECIDED: "yellow",
    Standing.NOT_FINISHED: "yellow",
    Standing.WARNINGS: "yellow",
    Standing.GOOD: "green",
    Standing.NOT_GRAVE: "green",
    Standing.LEFT_OUT: "",
}


def headline(report: WorldReport) -> str:
    """Return the verdict on the whole world: `OK`, or how many levels failed and how much of what was found.

    A report on a part of the world is never `OK`: it says how many levels were not checked.
    """
    counts = [count_words(report.count(each), each.value) for each in BY_WEIGHT if report.count(each)]
    if report.failed:
        counts.insert(0, f"{count_words(len(report.failed), 'level')} failed")
    elif not report.count(Severity.ERROR) and not report.count(Severity.WARNING) and not report.changed_since:
        counts.insert(0, "OK")
    if report.left_out:
        if not counts and len(report.left_out) < len(report.levels):
            counts.append("nothing found")
        counts.append(f"{count_words(len(report.left_out), 'level')} not checked")
    return ", ".join(counts)


def compose(report: WorldReport, width: int = 100, written: Sequence[str] = ()) -> Text:
    """Return the report as styled text; its `plain` is the same text without colour.

    Parameters
    ----------
    report : WorldReport
        What the check found.
    width : int
        Columns to wrap at.
    written : sequence of str
        What was written to which file, one line each, for the end of the report.
    """
    text = Text()
    bad = bool(report.failed or report.count(Severity.ERROR))
    text.append(
        headline(report), "bold red" if bad else "bold green" if headline(report)[:2] == "OK" else "bold yellow"
    )
    text.append(f"  {report.name}: {extent(report)}\n")
    text.append(_wrapped(played_as(report), width) + "\n")
    _add_table(text, report)
    _add_left_out(text, report, width)
    for level in report.failed:
        _add_failed(text, level, width)
    for (severity, follows), heading in HEADINGS.items():
        _add_list(text, heading, _STYLES[severity], counting(report, severity, follows), width)
    _add_list(text, "Notes", _STYLES[Severity.NOTE], notes_of_world(report), width)
    _add_list(text, MEANT, "bold", meant(report), width, "Meant: ")
    _add_rest(text, report, width)
    if written:
        text.append("\nWritten\n", "bold")
        for line in written:
            text.append(f"  {line}\n")
    return text


def extent(report: WorldReport) -> str:
    """Return how many levels and links there are, how many levels nobody enters, and where the game begins."""
    if report.changed_since:
        return _part(report)
    words = [count_words(len(report.levels), "level")]
    if not report.linked:
        return f"{words[0]}, each on its own from its start"
    for verdict, what in ((Verdict.UNREACHABLE, "cannot be entered"), (Verdict.UNDECIDED, "perhaps not entered")):
        number = sum(level.verdict is verdict for level in report.levels)
        if number:
            words.append(f"{number} {what}")
    start = "/".join(report.start or ())
    return f"{', '.join(words)}; {count_words(len(report.links), 'link')}; begins at {start}"


def _part(report: WorldReport) -> str:
    checked = len(report.levels) - len(report.left_out)
    words = (
        f"{checked} of {count_words(len(report.levels), 'level')} checked, those changed since {report.changed_since}"
    )
    if not checked:
        return f"no level of {len(report.levels)} has changed since {report.changed_since}"
    if not report.linked:
        return f"{words}, each on its own from its start"
    return (
        f"{words} and those linked to them, as if a player could come to each; the world as a whole was not looked at"
    )


def played_as(report: WorldReport) -> str:
    """Return the movement that the levels are played with, those with another one named, in a sentence."""
    by_movement: dict[str, list[str]] = {}
    for level in report.levels:
        by_movement.setdefault(level.movement_name, []).append(level.id)
    first, *others = sorted(by_movement, key=lambda name: -len(by_movement[name]))
    words = [f"Played as {first}", *(f"{list_words(by_movement[name])} as {name}" for name in others)]
    instead = f" Given in place of {report.instead_of}, which the world file names." if report.instead_of else ""
    return f"{'; '.join(words)}.{instead}"


def left_out_words(report: WorldReport) -> str:
    """Return which levels were not checked, in a sentence; "" where all were."""
    if not report.left_out:
        return ""
    names = list_words([level.id for level in report.left_out])
    return f"Not checked, since nothing that they follow from has changed since {report.changed_since}: {names}."


def _add_left_out(text: Text, report: WorldReport, width: int) -> None:
    if report.left_out:
        lead = "\n" if len(report.left_out) < len(report.levels) else ""
        text.append(lead + _wrapped(left_out_words(report), width))


def _add_table(text: Text, report: WorldReport) -> None:
    levels = rows(report)
    if not levels:
        return
    wide = with_accepted(levels)
    heads = titles(wide)
    lines = [(heads, "bold"), *((row.cells(wide), _STANDING_STYLES[row.standing]) for row in levels)]
    widths = [max(len(cells[column]) for cells, _ in lines) for column in range(len(heads) - 1)]
    for cells, style in lines:
        sign, name, *counts, last = cells
        numbers = [count.rjust(width) for count, width in zip(counts, widths[2:], strict=True)]
        text.append(f"  {sign.ljust(widths[0])}", style)
        text.append(
            f"  {name.ljust(widths[1])}  {'  '.join(numbers)}  {last}".rstrip() + "\n", style if not sign else ""
        )


def _add_failed(text: Text, level: LevelResult, width: int) -> None:
    text.append(f"\nFailed: {level.id} ({level.file})\n", "bold red")
    if level.why:
        text.append(_wrapped(level.why, width, "    "))
        return
    for outcome in level.outcomes:
        if outcome.report is None:
            text.append(_wrapped(f"From {outcome.job.entrance}: {outcome.why}", width, "    "))


def _add_list(text: Text, heading: str, style: str, told: Sequence[Told], width: int, lead: str = "") -> None:
    if told:
        text.append(f"\n{heading}\n", style)
    for one in told:
        text.append(f"  {one.title}\n{_wrapped(lead + one.message, width, '    ')}")
        if one.advice:
            text.append(_wrapped(f"To do: {one.advice}", width, "    "))


def _add_rest(text: Text, report: WorldReport, width: int) -> None:
    """Tell in a line each what was not finished, and what of was found is not written out here."""
    for level in report.levels:
        for outcome in level.outcomes:
            if outcome.report is not None and not outcome.report.complete:
                why = f"Not finished: {level.id} from {outcome.job.entrance}: {outcome.report.incomplete_why}."
                text.append("\n" + _wrapped(f"{why} What was not proved by then is undecided.", width))
    shown = [entry.finding for level in report.levels for entry in level.findings if not entry.finding.accepted]
    told = {severity for severity, _ in HEADINGS}
    if any("window_ticks" in finding.details and finding.severity in told for finding in shown):
        text.append("\n" + _wrapped(TIMING_NOTE, width), "dim")
    notes = other_notes(report)
    if notes:
        rules = ", ".join(f"{number} {rule}" for rule, number in sorted(notes.items()))
        words = f"{count_words(notes.total(), 'note')} not shown here ({rules}): see --format json, or reach check"
        text.append("\n" + _wrapped(f"{words} of the level.", width))


def _wrapped(words: str, width: int, indent: str = "") -> str:
    lines = textwrap.wrap(words, width, initial_indent=indent, subsequent_indent=indent, break_on_hyphens=False)
    return "".join(f"{line}\n" for line in lines)
