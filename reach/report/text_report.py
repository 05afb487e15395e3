"""The report as text for a person: the verdict first, then the places, the findings and the narrowest landing."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from rich.text import Text

from reach.findings import Severity, Verdict
from reach.wording import count_words, move_words, number_words, tile_words

if TYPE_CHECKING:
    from reach.findings import Finding, Move, PlaceVerdict, Report

TIMING_NOTE = (
    "Timing figures are averages over players: no promise that a given player can do it, and none of accessibility."
)
NO_ENDING = (
    "No place ends this level (a goal or an exit does): where a player gets stuck, cannot turn back or lands with too "
    "little time was not asked."
)
SIGNS = {Verdict.REACHABLE: "+", Verdict.UNREACHABLE: "x", Verdict.UNDECIDED: "?"}
"""Every verdict has a sign and a word, so that nothing is told by colour alone."""

_VERDICT_STYLES = {Verdict.REACHABLE: "green", Verdict.UNREACHABLE: "red", Verdict.UNDECIDED: "yellow"}
_SEVERITY_STYLES = {Severity.ERROR: "bold red", Severity.WARNING: "bold yellow", Severity.NOTE: "bold"}
_HEADINGS = {Severity.ERROR: "Errors", Severity.WARNING: "Warnings", Severity.NOTE: "Notes"}


def headline(report: Report) -> str:
    """Return the verdict on the whole level: `OK`, or how many errors, warnings and notes there are."""
    counts = [count_words(report.count(each), each.value) for each in _by_weight() if report.count(each)]
    if not report.count(Severity.ERROR) and not report.count(Severity.WARNING):
        counts.insert(0, "OK")
    return ", ".join(counts)


def compose(report: Report, width: int = 100, written: Sequence[str] = ()) -> Text:
    """Return the report as styled text; its `plain` is the same text without colour.

    Parameters
    ----------
    report : Report
        What the check found.
    width : int
        Columns to wrap at.
    written : sequence of str
        What was written to which file, one line each, for the end of the report.
    """
    text = Text()
    style = (
        "bold red" if report.count(Severity.ERROR) else "bold green" if headline(report)[:2] == "OK" else "bold yellow"
    )
    text.append(headline(report), style)
    text.append(f"  {report.level_name}, played as {report.movement_name} from {report.from_place}\n")
    if not report.complete:
        text.append(
            _wrapped(f"Not finished: {report.incomplete_why}. What was not proved by then is undecided.", width)
        )
    _add_places(text, report.places, report.tick_rate_hz)
    text.append(f"\n{_ground(report)}\n")
    if not report.has_ending:
        text.append(_wrapped(NO_ENDING, width))
    for severity in _by_weight():
        found = [each for each in report.findings if each.severity is severity and each.accepted is None]
        _add_findings(text, _HEADINGS[severity], _SEVERITY_STYLES[severity], found, width)
    meant = [each for each in report.findings if each.accepted is not None]
    _add_findings(text, "Known and meant, not counted", "bold", meant, width)
    _add_route(text, report, width)
    if written:
        text.append("\nWritten\n", "bold")
        for line in written:
            text.append(f"  {line}\n")
    return text


def _by_weight() -> list[Severity]:
    return sorted(Severity, key=lambda severity: -severity.rank)


def _add_places(text: Text, places: Sequence[PlaceVerdict], tick_rate_hz: int) -> None:
    text.append("\nPlaces\n", "bold")
    rows = [_place_cells(place, tick_rate_hz) for place in places]
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))] if rows else []
    for place, row in zip(places, rows, strict=True):
        cells = [cell.ljust(width) for cell, width in zip(row, widths, strict=True)]
        text.append("  ")
        text.append("  ".join(cells[:1]), _VERDICT_STYLES[place.verdict])
        text.append(f"  {'  '.join(cells[1:])}".rstrip() + "\n")


def _place_cells(place: PlaceVerdict, tick_rate_hz: int) -> list[str]:
    proof = ""
    if place.ticks is not None:
        seconds = number_words(place.ticks / tick_rate_hz)
        proof = "touched at once" if place.ticks == 0 else f"in {count_words(place.ticks, 'tick')} ({seconds} s)"
    if place.must_be is not None:
        kept = place.verdict.value == place.must_be
        promise = f"meant to be {place.must_be}" + (
            "" if kept or place.verdict is Verdict.UNDECIDED else ", and is not"
        )
        proof = f"{proof}, {promise}" if proof else promise
    need = "required" if place.required else ""
    column, row = place.at
    return [f"{SIGNS[place.verdict]} {place.verdict.value}", place.id, place.kind, f"{column},{row}", need, proof]


def _ground(report: Report) -> str:
    counts = {verdict: len(report.tiles.get(verdict, ())) for verdict in Verdict}
    parts = ", ".join(f"{number} {verdict.value}" for verdict, number in counts.items())
    return f"Of {count_words(sum(counts.values()), 'tile')} to stand on: {parts}."


def _add_findings(text: Text, heading: str, style: str, findings: Iterable[Finding], width: int) -> None:
    for number, finding in enumerate(findings):
        if number == 0:
            text.append(f"\n{heading}\n", style)
        where = "" if finding.at is None else f" on {tile_words(finding.at)}"
        text.append(f"  {finding.rule}{where}\n")
        text.append(_wrapped(finding.message, width, "    "))
        if finding.accepted is not None:
            text.append(_wrapped(f"Meant: {finding.accepted}", width, "    "))
        elif finding.advice:
            text.append(_wrapped(f"To do: {finding.advice}", width, "    "))


def _add_route(text: Text, report: Report, width: int) -> None:
    moves = [report.moves[index] for index in report.route]
    if report.route_to is None:
        return
    way = "Easiest way" if report.route_easiest else "Way that was proved"
    if not moves:
        text.append(f"\n{way} to {report.route_to}: on foot\n", "bold")
        return
    text.append(f"\n{way} to {report.route_to}: {count_words(len(moves), 'move')}\n", "bold")
    measured = [move for move in moves if move.window_ticks is not None]
    if not measured:
        text.append("  No move of it has a measured window.\n")
        return
    narrowest = min(measured, key=lambda move: (move.window_ticks or 0, move.chance or 0.0))
    which = "narrowest" if len(measured) == len(moves) else "narrowest measured one"
    text.append(_wrapped(f"Its {which} is {_window_words(narrowest, report)}", width, "  "))
    if not report.route_easiest:
        text.append(_wrapped("There may be an easier way: this one is proved, no more.", width, "  "))
    text.append(_wrapped(TIMING_NOTE, width, "  "), "dim")


def _window_words(move: Move, report: Report) -> str:
    at_least = "at least " if move.window_open else ""
    words = f"{move_words(move)}: a window of {at_least}{count_words(move.window_ticks or 0, 'tick')}"
    if move.window_ms is not None:
        words += f" ({number_words(move.window_ms)} ms)"
    if move.landing_room_px is not None:
        words += f", all its landings within {number_words(move.landing_room_px)} px"
    if move.chance is not None:
        spread = report.options.get("timing_spread_ms")
        timing = "" if spread is None else f" at a timing spread of {number_words(spread)} ms"
        words += f"; {number_words(100 * move.chance)} % of tries succeed{timing}"
    return words + "."


def _wrapped(words: str, width: int, indent: str = "") -> str:
    lines = textwrap.wrap(words, width, initial_indent=indent, subsequent_indent=indent, break_on_hyphens=False)
    return "".join(f"{line}\n" for line in lines)
