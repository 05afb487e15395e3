"""The words around the map: title and counts above it, the findings and the easiest route below."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from reach.findings import Move, Report, Severity, Verdict
from reach.report.blocks import Sign, Words, in_columns, line_of, lines_of, stack
from reach.report.finding_layer import NumberedFinding
from reach.report.font import clean, line_height, shorten, wrap
from reach.report.palette import BLACK, QUIET_INK, ROUTE, SEVERITY_COLOUR, YELLOW
from reach.report.sheet import Point, Sheet
from reach.report.symbols import (
    badge_size,
    draw_badge,
    draw_route_number,
    draw_severity_sign,
    draw_verdict_sign,
    route_number_size,
)
from reach.wording import count_words, move_words, number_words

TEXT = 13
SMALL = 12
HEADING = 17
TITLE = 24

COLUMN_PX = 440
"""Least width of a column of findings."""

MOST_LINES = 10
"""Lines of one message; the text report has it whole."""

MOST_LISTED = 300
"""Findings numbered on the map and listed; the text report has them all."""

MOST_ROUTE_MOVES = 60

TIMING_NOTE = (
    "Windows and chances are averages over players: they compare moves with one another and are not a promise that"
    " everybody can play the level."
)

_INDENT = 52


def title_block(level_name: str, report: Report, width: int, scale_note: str) -> Sheet:
    """The names of level and movement, the counts of verdicts and findings, and why a check is incomplete.

    Parameters
    ----------
    level_name : str
    report : Report
    width : int
        In px.
    scale_note : str
        Said where the map is drawn smaller than is readable; "" otherwise.

    Returns
    -------
    Sheet
    """
    name = clean(level_name) or "(level without a name)"
    body = f"body {number_words(report.body_px[0], 2)} x {number_words(report.body_px[1], 2)} px"
    size = f"{report.columns} x {report.rows} tiles of {report.tile_px} px"
    about = (
        f"Movement: {clean(report.movement_name)}, {body}, {report.tick_rate_hz} ticks a second. "
        f" From: {report.from_place}.  Map: {size}; tiles are named column, row."
    )
    rows = [
        lines_of([shorten(name, width, TITLE, True)], TITLE, width, True),
        lines_of(wrap(about, width, TEXT), TEXT, width, ink=QUIET_INK),
        line_of(_finding_counts(report), TEXT + 1, width),
        line_of(_verdict_counts(report), TEXT, width),
    ]
    if not report.complete:
        rows.append(_banner(report.incomplete_why, width))
    if scale_note:
        rows.append(lines_of(wrap(scale_note, width, TEXT), TEXT, width, ink=QUIET_INK))
    return stack(rows, 6)


def _finding_counts(report: Report) -> list[Sign | Words]:
    parts: list[Sign | Words] = []
    for severity in Severity:
        number = report.count(severity)
        if number:
            parts.append(severity_chip(severity))
            parts.append(Words(f" {count_words(number, severity.value)}      ", bold=True))
    accepted = sum(1 for finding in report.findings if finding.accepted is not None)
    if not parts:
        parts.append(Words("No findings      ", bold=True))
    if accepted:
        parts.append(Words(f"{accepted} accepted by the level file", ink=QUIET_INK))
    return parts


def severity_chip(severity: Severity) -> Sign:
    """The severity's sign on its colour, as a badge begins."""

    def draw(sheet: Sheet, centre: Point) -> None:
        x, y = centre
        sheet.pill((round(x - 10), round(y - 9), round(x + 10), round(y + 9)), 4, BLACK)
        sheet.pill((round(x - 9), round(y - 8), round(x + 9), round(y + 8)), 3, SEVERITY_COLOUR[severity])
        draw_severity_sign(sheet, severity, (round(x), round(y)))

    return Sign(22, draw)


def _verdict_counts(report: Report) -> list[Sign | Words]:
    parts: list[Sign | Words] = []
    asked = [place for place in report.places if place.id != report.from_place]
    for noun, verdicts in (
        ("Places", [place.verdict for place in asked]),
        ("Standable tiles", [verdict for verdict, tiles in report.tiles.items() for _ in tiles]),
    ):
        if not verdicts:
            continue
        parts.append(Words(f"{noun}:  ", bold=True))
        for verdict in Verdict:
            number = verdicts.count(verdict)
            if number:
                parts.append(Sign(14, partial(_draw_verdict, verdict)))
                parts.append(Words(f"  {number} {verdict.value}     "))
        parts.append(Words("     "))
    return parts


def _draw_verdict(verdict: Verdict, sheet: Sheet, centre: Point) -> None:
    draw_verdict_sign(sheet, verdict, centre)


def _banner(why: str, width: int) -> Sheet:
    """Tells in the strongest way that not everything was decided."""
    lines = wrap(
        f"Incomplete: {clean(why) or 'a limit was hit'}. What is not proved is undecided.", width - 24, TEXT, True
    )
    sheet = Sheet(width, len(lines) * line_height(TEXT) + 12)
    sheet.pill((0, 0, width, sheet.height), 5, BLACK)
    for i, line in enumerate(lines):
        sheet.text((12, 6 + i * line_height(TEXT)), line, TEXT, True, YELLOW, BLACK)
    return sheet


def findings_block(findings: Sequence[NumberedFinding], unlisted: int, width: int) -> Sheet:
    """The list of findings under a heading, in as many columns as fit; an empty sheet where there are none.

    Parameters
    ----------
    findings : sequence of NumberedFinding
    unlisted : int
        How many more there are.
    width : int
        In px.

    Returns
    -------
    Sheet
    """
    if not findings:
        return Sheet(1, 1)
    columns = max(1, min((width + 32) // (COLUMN_PX + 32), 3, len(findings)))
    column = (width + 32) // max(columns, 2 if width > 2 * COLUMN_PX else 1) - 32
    entries = [_entry(numbered, column) for numbered in findings]
    blocks = [heading("Findings", width), in_columns(entries, columns, 32, 12)]
    if unlisted:
        more = f"{count_words(unlisted, 'further finding')} not numbered here: the text report has them all."
        blocks.append(lines_of([more], TEXT, width, True))
    return stack(blocks, 10)


def _entry(numbered: NumberedFinding, width: int) -> Sheet:
    """One finding: its badge, what it is and where, and the message."""
    finding = numbered.finding
    room = width - _INDENT
    where = f"tile {finding.at[0]},{finding.at[1]}" if finding.at is not None else "whole level"
    title = wrap(f"{finding.severity.value}: {finding.rule}, {where}", room, TEXT, True)
    rows = [lines_of(title, TEXT, room, True)]
    if finding.accepted is not None:
        reason = wrap(f"Accepted by the level file: {finding.accepted}", room, TEXT, most_lines=3)
        rows.append(lines_of(reason, TEXT, room, ink=QUIET_INK))
    rows.append(lines_of(wrap(finding.message, room, TEXT, most_lines=MOST_LINES), TEXT, room))
    if finding.advice:
        advice = wrap(finding.advice, room - 18, TEXT, most_lines=MOST_LINES)
        rows.append(_advice(advice, room))
    text = stack(rows, 1)
    sheet = Sheet(width, max(text.height, 22))
    sheet.paste(text, (_INDENT, 0))
    badge_width, badge_height = badge_size(numbered.number)
    draw_badge(
        sheet, (0, 0, badge_width, badge_height), numbered.number, finding.severity, finding.accepted is not None
    )
    return sheet


def _advice(lines: Sequence[str], width: int) -> Sheet:
    """What to do about a finding, after an arrow."""
    sheet = Sheet(width, len(lines) * line_height(TEXT))
    sheet.strokes([[(1, 9), (10, 9)], [(6.5, 5.5), (10.5, 9), (6.5, 12.5)]], QUIET_INK, 1.6)
    for i, line in enumerate(lines):
        sheet.text((18, i * line_height(TEXT)), line, TEXT, False, QUIET_INK)
    return sheet


def heading(text: str, width: int) -> Sheet:
    """A heading with a thin rule below."""
    sheet = Sheet(width, line_height(HEADING) + 3)
    sheet.text((0, 0), text, HEADING, True)
    sheet.rect((0, sheet.height - 1, width, sheet.height), QUIET_INK)
    return sheet


def route_block(report: Report, width: int) -> Sheet:
    """The easiest route, move by move, with how tight each is; an empty sheet where there is none."""
    moves = [report.moves[i] for i in report.route]
    if not moves:
        return Sheet(1, 1)
    columns = max(1, min((width + 32) // (COLUMN_PX + 32), 3, len(moves)))
    column = (width + 32) // max(columns, 2 if width > 2 * COLUMN_PX else 1) - 32
    shown = moves[:MOST_ROUTE_MOVES]
    entries = [_route_entry(number, move, column) for number, move in enumerate(shown, start=1)]
    to = f" to {report.route_to}" if report.route_to else ""
    blocks = [
        heading(f"{'Easiest route' if report.route_easiest else 'Proved route'}{to}", width),
        in_columns(entries, columns, 32, 5),
    ]
    if len(moves) > len(shown):
        blocks.append(lines_of([f"and {count_words(len(moves) - len(shown), 'more move')}"], TEXT, width))
    return stack(blocks, 10)


def _route_entry(number: int, move: Move, width: int) -> Sheet:
    room = width - 40
    facts = move_words(move).removeprefix("the ")
    facts = facts[0].upper() + facts[1:]
    if move.window_ticks is not None:
        least = " or more" if move.window_open else ""
        facts += f": window {count_words(move.window_ticks, 'tick')}{least}"
        if move.window_ms is not None:
            facts += f" ({number_words(move.window_ms, 0)} ms)"
    if move.chance is not None:
        facts += f", chance {number_words(100 * move.chance, 0)} %"
    if move.needs_speed:
        facts += ", needs speed brought in"
    if move.passing_only:
        facts += ", passing only"
    text = lines_of(wrap(facts, room, TEXT), TEXT, room)
    sheet = Sheet(width, max(20, text.height))
    sheet.paste(text, (40, 0))
    size = route_number_size(number)
    draw_route_number(sheet, (0, 0, size[0], size[1]), number, ROUTE)
    return sheet


def shows_timing(report: Report) -> bool:
    """Whether the picture carries figures about a player's timing, and so owes the note about them."""
    measured = any(move.window_ticks is not None or move.chance is not None for move in report.moves)
    words = ("window", "chance", "timing")
    return measured or any(word in key for finding in report.findings for key in finding.details for word in words)


def note_block(width: int) -> Sheet:
    """The note about timing figures."""
    return lines_of(wrap(TIMING_NOTE, width, TEXT), TEXT, width, ink=QUIET_INK)
