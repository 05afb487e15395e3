"""The report on a world as text: the verdict and a table of the levels, worst first; then what was found, in words."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from rich.text import Text

from reach.findings import Severity, Verdict
from reach.report.text_report import TIMING_NOTE
from reach.wording import count_words, tile_words

if TYPE_CHECKING:
    from reach.findings import Finding
    from reach.world.result import LevelResult, WorldFinding, WorldReport

_STYLES = {Severity.ERROR: "bold red", Severity.WARNING: "bold yellow", Severity.NOTE: "bold"}
_HEADINGS = {Severity.ERROR: "Errors", Severity.WARNING: "Warnings"}
_BY_WEIGHT = (Severity.ERROR, Severity.WARNING, Severity.NOTE)


def headline(report: WorldReport) -> str:
    """Return the verdict on the whole world: `OK`, or how many levels failed and how much of what was found."""
    counts = [count_words(report.count(each), each.value) for each in _BY_WEIGHT if report.count(each)]
    if report.failed:
        counts.insert(0, f"{count_words(len(report.failed), 'level')} failed")
    elif not report.count(Severity.ERROR) and not report.count(Severity.WARNING):
        counts.insert(0, "OK")
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
    text.append(f"  {report.name}: {_extent(report)}\n\n")
    _add_table(text, report)
    for level in report.failed:
        _add_failed(text, level, width)
    for severity, heading in _HEADINGS.items():
        _add_findings(text, heading, severity, report, width)
    _add_rest(text, report, width)
    if written:
        text.append("\nWritten\n", "bold")
        for line in written:
            text.append(f"  {line}\n")
    return text


def _extent(report: WorldReport) -> str:
    words = [count_words(len(report.levels), "level")]
    if not report.linked:
        return f"{words[0]}, each on its own from its start"
    for verdict, what in ((Verdict.UNREACHABLE, "cannot be entered"), (Verdict.UNDECIDED, "perhaps not entered")):
        number = sum(level.verdict is verdict for level in report.levels)
        if number:
            words.append(f"{number} {what}")
    start = "/".join(report.start or ())
    return f"{', '.join(words)}; {count_words(len(report.links), 'link')}; begins at {start}"


def _add_table(text: Text, report: WorldReport) -> None:
    titles = ("", "level", "errors", "warnings", "notes", "look first at")
    rows = [_cells(report, level) for level in sorted(report.levels, key=lambda level: _weight(report, level))]
    widths = [max(len(row[column]) for row, _ in [*rows, (titles, "")]) for column in range(len(titles) - 1)]
    for cells, style in [(titles, "bold"), *rows]:
        sign, name, *counts, last = cells
        numbers = [count.rjust(width) for count, width in zip(counts, widths[2:], strict=True)]
        text.append(f"  {sign.ljust(widths[0])}", style)
        text.append(
            f"  {name.ljust(widths[1])}  {'  '.join(numbers)}  {last}".rstrip() + "\n", style if not sign else ""
        )


def _weight(report: WorldReport, level: LevelResult) -> tuple[int, ...]:
    """Sorts the worst level first; those that are as bad stay in the world's order."""
    return (not level.failed, *(-report.count_of(level.id, severity) for severity in _BY_WEIGHT))


def _cells(report: WorldReport, level: LevelResult) -> tuple[tuple[str, ...], str]:
    counts = [report.count_of(level.id, severity) for severity in _BY_WEIGHT]
    if level.failed:
        sign, style = "x failed", "bold red"
    elif level.verdict is Verdict.UNREACHABLE:
        sign, style = "x not entered", "red"
    elif counts[0]:
        sign, style = "x errors", "red"
    elif level.verdict is Verdict.UNDECIDED or not level.complete:
        sign, style = "? not finished" if level.verdict is Verdict.REACHABLE else "? undecided", "yellow"
    elif counts[1]:
        sign, style = "! warnings", "yellow"
    else:
        sign, style = "+ good", "green"
    return (sign, level.id, *(str(number) if number else "-" for number in counts), _first(report, level)), style


def _first(report: WorldReport, level: LevelResult) -> str:
    """Name the gravest error or warning about a level, those of the world first."""
    if level.failed:
        return "see below"
    found: list[tuple[int, str]] = []
    for each in report.findings:
        if each.level == level.id and each.accepted is None:
            found.append((each.severity.rank, f"{each.rule}{f' of {each.place}' if each.place else ''}"))
    for entry in level.findings:
        if entry.finding.accepted is None:
            found.append((entry.finding.severity.rank, f"{entry.finding.rule}{_where(entry.finding)}"))
    grave = [one for one in found if one[0] >= Severity.WARNING.rank]
    return max(grave, key=lambda one: one[0])[1] if grave else ""


def _where(finding: Finding) -> str:
    return "" if finding.at is None else f" on {tile_words(finding.at)}"


def _add_failed(text: Text, level: LevelResult, width: int) -> None:
    text.append(f"\nFailed: {level.id} ({level.file})\n", "bold red")
    if level.why:
        text.append(_wrapped(level.why, width, "    "))
        return
    for outcome in level.outcomes:
        if outcome.report is None:
            text.append(_wrapped(f"From {outcome.job.entrance}: {outcome.why}", width, "    "))


def _add_findings(text: Text, heading: str, severity: Severity, report: WorldReport, width: int) -> None:
    counting = [found for found in report.findings if found.severity is severity and found.accepted is None]
    blocks = [_world_block(found, width) for found in counting]
    for level in report.levels:
        for entry in level.findings:
            if entry.finding.severity is severity and entry.finding.accepted is None:
                blocks.append(_level_block(level, entry.finding, entry.entrances, width))
    if blocks:
        text.append(f"\n{heading}\n", _STYLES[severity])
        text.append("".join(blocks))


def _world_block(found: WorldFinding, width: int) -> str:
    return _world_title(found) + _sentences(found.message, found.advice, width)


def _world_title(found: WorldFinding) -> str:
    where = "/".join(filter(None, (found.level, found.place)))
    return f"  {found.rule}{f' of {where}' if where else ''}\n"


def _level_block(level: LevelResult, finding: Finding, entrances: Iterable[str], width: int) -> str:
    coming = f", from {', '.join(entrances)}" if len(level.outcomes) > 1 else ""
    return (
        f"  {level.id}: {finding.rule}{_where(finding)}{coming}\n{_sentences(finding.message, finding.advice, width)}"
    )


def _sentences(message: str, advice: str, width: int) -> str:
    return _wrapped(message, width, "    ") + (_wrapped(f"To do: {advice}", width, "    ") if advice else "")


def _add_rest(text: Text, report: WorldReport, width: int) -> None:
    """Tell in a line each what was not finished, and what of was found is not written out here."""
    for level in report.levels:
        for outcome in level.outcomes:
            if outcome.report is not None and not outcome.report.complete:
                why = f"Not finished: {level.id} from {outcome.job.entrance}: {outcome.report.incomplete_why}."
                text.append("\n" + _wrapped(f"{why} What was not proved by then is undecided.", width))
    shown = [entry.finding for level in report.levels for entry in level.findings if not entry.finding.accepted]
    if any("window_ticks" in finding.details and finding.severity in _HEADINGS for finding in shown):
        text.append("\n" + _wrapped(TIMING_NOTE, width), "dim")
    meant = [found for found in report.findings if found.accepted is not None]
    if meant:
        text.append("\nKnown and meant, not counted\n", "bold")
        for found in meant:
            text.append(_world_title(found) + _wrapped(f"Meant: {found.accepted}", width, "    "))
    notes = report.count(Severity.NOTE)
    if notes:
        words = f"{count_words(notes, 'note')} not shown here: see --format json, or reach check of the level."
        text.append("\n" + _wrapped(words, width))


def _wrapped(words: str, width: int, indent: str = "") -> str:
    lines = textwrap.wrap(words, width, initial_indent=indent, subsequent_indent=indent, break_on_hyphens=False)
    return "".join(f"{line}\n" for line in lines)
