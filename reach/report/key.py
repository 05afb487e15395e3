"""The key: every sign that a picture uses, drawn by the same code as on the map, with what it means."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from reach.findings import Finding, Mark, MarkShape, Move, MoveKind, Report, Severity, Verdict
from reach.kernels.params import EMPTY, HAZARD, ONE_WAY, SOLID, SPRING
from reach.report.blocks import in_columns, stack
from reach.report.finding_layer import NumberedFinding, draw_marks
from reach.report.font import line_height, wrap
from reach.report.legend import TEXT, heading
from reach.report.map_layer import paint_map
from reach.report.moves_layer import draw_moves, draw_route
from reach.report.palette import INK, ROUTE, VERDICT_COLOUR
from reach.report.sheet import Sheet
from reach.report.symbols import PLACE_LETTER, draw_badge, draw_place, draw_route_number, draw_verdict_sign
from reach.report.verdict_layer import paint_verdicts
from reach.report.view import View

if TYPE_CHECKING:
    from reach.level import Level

TILE = 24
_SWATCH = (72, 30)
_WIDTH = 330

_MATERIALS = (
    (SOLID, "solid ground"),
    (ONE_WAY, "one-way: carries from above, lets pass from below"),
    (HAZARD, "hazard: touching it loses the body"),
    (SPRING, "spring: launches what stands on it"),
)
_VERDICTS = {
    Verdict.REACHABLE: "the tile's top can be stood on: a script proves it",
    Verdict.UNREACHABLE: "nobody can ever stand there: proved by exhaustion",
    Verdict.UNDECIDED: "neither is proved",
}
_MARKS = {
    Severity.ERROR: "marked by an error (whole line)",
    Severity.WARNING: "marked by a warning (dashed)",
    Severity.NOTE: "marked by a note (dotted)",
}


def key_block(level: Level, report: Report, width: int) -> Sheet:
    """The key to the signs that this picture uses.

    Parameters
    ----------
    level : Level
    report : Report
    width : int
        In px.

    Returns
    -------
    Sheet
    """
    entries: list[Sheet] = []
    present = {int(code) for code in np.unique(level.material)}
    for code, words in _MATERIALS:
        if code in present:
            entries.append(_entry(_material(code), words))
    for verdict, words in _VERDICTS.items():
        if report.tiles.get(verdict):
            entries.append(_entry(_band(verdict), f"{verdict.value}: {words}"))
    if report.coverage.any():
        entries.append(_entry(_region, "the body is never outside this, and its outline"))
    entries.extend(_move_entries(report))
    for kind in PLACE_LETTER:
        those = [place for place in report.places if place.kind == kind]
        if those:
            entries.append(_entry(_place(kind, those[0].verdict), kind))
    for verdict in Verdict:
        if any(place.verdict is verdict for place in report.places):
            entries.append(
                _entry(
                    _place_verdict(verdict), f"a place that is {verdict.value}: its sign's colour, and this by its name"
                )
            )
    for severity, words in _MARKS.items():
        if any(finding.severity is severity and finding.accepted is None for finding in report.findings):
            entries.append(_entry(_mark(severity), words))
    accepted = [finding.severity for finding in report.findings if finding.accepted is not None]
    if accepted:
        words = "a finding that the level file accepts: thin, in grey"
        entries.append(_entry(_mark(max(accepted, key=lambda one: one.rank), words), words))
    columns = max(1, (width + 24) // (_WIDTH + 24))
    return stack([heading("Key", width), in_columns(entries, columns, 24, 6)], 10)


def _move_entries(report: Report) -> list[Sheet]:
    entries = []
    on_route = set(report.route)
    others = [move for i, move in enumerate(report.moves) if i not in on_route]
    falls = {MoveKind.WALK_OFF, MoveKind.DROP}
    if any(move.kind not in falls for move in others):
        entries.append(_entry(_move(MoveKind.JUMP, False), "a jump or bounce, as its proof flies it (feet)"))
    if any(move.kind in falls for move in others):
        entries.append(_entry(_move(MoveKind.WALK_OFF, False), "a walk off an edge or a drop"))
    if any(move.passing_only for move in others):
        entries.append(_entry(_move(MoveKind.JUMP, True), "open head: the body cannot come to rest there"))
    if report.route:
        what = "easiest" if report.route_easiest else "proved"
        entries.append(_entry(_route, f"the {what} route, its moves numbered; dots: walking"))
    return entries


def _entry(draw: Callable[[Sheet], object], words: str) -> Sheet:
    width, height = _SWATCH
    lines = wrap(words, _WIDTH - width - 12, TEXT)
    sheet = Sheet(_WIDTH, max(height, len(lines) * line_height(TEXT)))
    swatch = Sheet(width, height)
    draw(swatch)
    sheet.paste(swatch, (0, (sheet.height - height) // 2))
    top = (sheet.height - len(lines) * line_height(TEXT)) // 2
    for i, line in enumerate(lines):
        sheet.text((width + 12, top + i * line_height(TEXT)), line, TEXT)
    return sheet


def _ground(sheet: Sheet, code: int) -> View:
    """Three tiles of a material in the lower part of a swatch."""
    material = np.full((1, 3), code, dtype=np.uint8)
    view = View(0, 3, 0, 1, TILE, TILE, top=_SWATCH[1] - TILE)
    part = Sheet(_SWATCH[0], _SWATCH[1])
    paint_map(part, material, view)
    sheet.image.paste(part.image, (0, 0))
    return view


def _material(code: int) -> Callable[[Sheet], object]:
    return lambda sheet: _ground(sheet, code)


def _band(verdict: Verdict) -> Callable[[Sheet], object]:
    def draw(sheet: Sheet) -> None:
        view = _ground(sheet, SOLID)
        paint_verdicts(sheet, {verdict: [(0, 0), (1, 0), (2, 0)]}, view)

    return draw


def _region(sheet: Sheet) -> None:
    material = np.full((2, 4), EMPTY, dtype=np.uint8)
    coverage = np.zeros((16, 32), dtype=bool)
    coverage[4:, :20] = True
    coverage[9:, 20:24] = True
    paint_map(sheet, material, View(0, 3, 0, 1, TILE, TILE, top=_SWATCH[1] - TILE), coverage)


def _move(kind: MoveKind, passing_only: bool) -> Callable[[Sheet], object]:
    arc = tuple((6 + i * 60 / 20, 25 - 20 * (1 - ((i - 10) / 10) ** 2)) for i in range(21))
    if kind is MoveKind.WALK_OFF:
        arc = tuple((6 + i * 60 / 20, 5 + 20 * (i / 20) ** 2) for i in range(21))
    move = Move((0, 0), (2, 0), kind, 20, passing_only=passing_only, arc_px=arc)
    return lambda sheet: draw_moves(sheet, [move], View(0, 3, 0, 1, TILE, TILE))


def _route(sheet: Sheet) -> None:
    arc = tuple((22 + i * 44 / 20, 25 - 18 * (1 - ((i - 10) / 10) ** 2)) for i in range(21))
    view = View(0, 3, 0, 1, TILE, TILE)
    draw_route(sheet, [Move((0, 0), (2, 0), MoveKind.JUMP, 20, arc_px=arc)], view, (2.0, 25.0))
    draw_route_number(sheet, (35, 0, 53, 18), 1, ROUTE)


def _place(kind: str, verdict: Verdict) -> Callable[[Sheet], object]:
    return lambda sheet: draw_place(sheet, kind, VERDICT_COLOUR[verdict], (_SWATCH[0] / 2, _SWATCH[1] / 2), 11)


def _place_verdict(verdict: Verdict) -> Callable[[Sheet], object]:
    def draw(sheet: Sheet) -> None:
        sheet.pill((16, 5, 36, 25), 4, INK)
        sheet.pill((17, 6, 35, 24), 3, VERDICT_COLOUR[verdict])
        draw_verdict_sign(sheet, verdict, (50, 15))

    return draw


def _mark(severity: Severity, accepted: str | None = None) -> Callable[[Sheet], object]:
    def draw(sheet: Sheet) -> None:
        view = View(-1, 3, 0, 1, 18, TILE, top=6)
        example = Finding("", severity, (0, 0), "", marks=(Mark(MarkShape.TILE, ((0, 0),)),), accepted=accepted)
        draw_marks(sheet, [NumberedFinding(1, example)], view)
        draw_badge(sheet, (40, 6, 72, 25), 1, severity, accepted is not None)

    return draw
