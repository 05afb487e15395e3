"""Pictures of what got worse: a level before and after, with what was lost marked in both."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING

from PIL import Image

from reach.comparison.changes import Change, Comparison, Direction, Kind
from reach.comparison.level_changes import GroundChange, ground_change
from reach.errors import OutputError
from reach.files import reason
from reach.report.blocks import in_columns, lines_of, stack
from reach.report.comparison_text import value_words
from reach.report.finding_layer import NumberedFinding
from reach.report.font import clean, shorten, wrap
from reach.report.legend import TEXT, TITLE, heading, note_block
from reach.report.map_strip import Strip, draw_strips
from reach.report.palette import BLUISH_GREEN, INK, QUIET_INK, VERMILLION, WHITE, Rgb
from reach.report.png_overlay import LEAST_WIDTH, MARGIN, save_image, set_side_by_side, tile_size
from reach.report.sheet import Box, Sheet, dashed
from reach.report.symbols import draw_tag, place_radius, tag_size
from reach.report.view import STRIP_WIDTH_PX, View, cut_into_views
from reach.report.world_pictures import picture_names

if TYPE_CHECKING:
    from reach.findings import Report, Tile
    from reach.level import Level
    from reach.world.world_file import LoadedWorld

Find = Callable[[str, str, str], "Report | None"]
"""Returns the whole report of a side ("before", "after") on a level from an entrance, None if there is none."""

MOST_CHANGES = 12
_GAP = 24


def save_pictures(
    comparison: Comparison, worlds: tuple[LoadedWorld, LoadedWorld], find: Find, folder: Path
) -> set[str]:
    """Draw every check that got worse and has a report on both sides; return the names of the files.

    What is not about one entrance is drawn as from those of which something else got worse, or else as from the first.

    Raises
    ------
    InputError
        As `picture_names`.
    OutputError
        If the folder or a picture cannot be written.
    """
    worse = [change for change in comparison.going(Direction.WORSE) if change.level is not None]
    entrances = {
        level.id: list(dict.fromkeys(change.entrance for change in worse if change.level == level.id))
        for level in worlds[1].levels
    }
    names, saved = picture_names(worlds[1]), set()
    for name, of_level in entrances.items():
        levels = [world.by_id[name].level if name in world.by_id else None for world in worlds]
        if not of_level or levels[0] is None or levels[1] is None:
            continue
        pairs = {
            place.id: (find("before", name, place.id), find("after", name, place.id)) for place in levels[1].places
        }
        both = [entrance for entrance, pair in pairs.items() if None not in pair]
        own = [entrance for entrance in both if entrance in of_level] or both[:1]
        for entrance in own:
            reports = pairs[entrance]
            if reports[0] is None or reports[1] is None:
                continue
            about = [change for change in worse if change.level == name and change.entrance in (entrance, None)]
            image = compose_pair((levels[0], levels[1]), (reports[0], reports[1]), about)
            try:
                folder.mkdir(parents=True, exist_ok=True)
            except OSError as error:
                raise OutputError(str(folder), reason(error)) from None
            save_image(image, folder / names[name, entrance])
            saved.add(names[name, entrance])
    return saved


def compose_pair(levels: tuple[Level, Level], reports: tuple[Report, Report], changes: Sequence[Change]) -> Image.Image:
    """Return the picture of one check before and after.

    Parameters
    ----------
    levels, reports : pair of Level, pair of Report
        Before and after.
    changes : sequence of Change
        What got worse, worst first.
    """
    ground = ground_change(*({verdict: frozenset(tiles) for verdict, tiles in one.tiles.items()} for one in reports))
    lost_places = {change.place for change in changes if change.kind in (Kind.GOAL, Kind.PLACE)}
    panels = [
        _panel(title, level, report, ground, lost_places, found)
        for title, level, report, found in zip(
            ("Before", "After"), levels, reports, ([], _new_findings(reports[1], changes)), strict=True
        )
    ]
    corners = set_side_by_side([(panel.width, panel.height) for panel in panels], STRIP_WIDTH_PX)
    width = max(LEAST_WIDTH, *(x + panel.width for (x, _), panel in zip(corners, panels, strict=True)))
    maps = Sheet(width, max(y + panel.height for (_, y), panel in zip(corners, panels, strict=True)))
    for corner, panel in zip(corners, panels, strict=True):
        maps.paste(panel, corner)
    title = f"{clean(levels[1].name)}, from {reports[1].from_place}: what got worse"
    lines = [f"{number}.  {change.title}: {value_words(change)}" for number, change in enumerate(changes, start=1)]
    listed = [line for words in lines[:MOST_CHANGES] for line in wrap(words, width, TEXT, most_lines=2)]
    if len(lines) > MOST_CHANGES:
        listed.append(f"and {len(lines) - MOST_CHANGES} more: see the report")
    blocks = [
        lines_of([shorten(title, width, TITLE, True)], TITLE, width, True),
        lines_of(listed, TEXT, width),
        maps,
        _key(ground, bool(lost_places), width),
    ]
    if any(change.kind is Kind.WINDOW for change in changes):
        blocks.append(note_block(width))
    body = stack(blocks, 14)
    page = Sheet(width + 2 * MARGIN, body.height + 2 * MARGIN)
    page.paste(body, (MARGIN, MARGIN))
    return page.image


def _panel(
    title: str,
    level: Level,
    report: Report,
    ground: GroundChange,
    lost_places: Collection[str | None],
    found: Sequence[NumberedFinding],
) -> Sheet:
    """One side: its title and the map's strips, with what was lost and gained."""
    views = cut_into_views(range(level.columns), range(level.rows), tile_size(level, None), level.tile_px)
    strips = draw_strips(level, report, found, views)
    for strip in strips:
        labels = [(box, strip.sheet.image.crop(box)) for box in strip.labels]
        _mark_places(strip, report, lost_places)
        _mark(strip, ground.gained, BLUISH_GREEN, "gained")
        _mark(strip, ground.lost, VERMILLION, "lost")
        for box, image in labels:
            strip.sheet.image.paste(image, box[:2])
    words = f"{title}: {clean(report.movement_name)}"
    width = max(strip.sheet.width for strip in strips)
    return stack([heading(shorten(words, width, 17, True), width), *(strip.sheet for strip in strips)], 8)


def _new_findings(report: Report, changes: Sequence[Change]) -> list[NumberedFinding]:
    """The findings that are new or graver, each with the number of its change in the list."""
    found = []
    for number, change in enumerate(changes[:MOST_CHANGES], start=1):
        if change.kind in (Kind.ERROR, Kind.WARNING) and change.tiles:
            same = (each for each in report.findings if each.at in change.tiles and each.message == change.message)
            found += [NumberedFinding(number, each) for each in same]
    return found


def _runs(tiles: Iterable[Tile], view: View) -> list[list[Tile]]:
    """The tiles that a window shows, stretch by stretch."""
    shown = sorted((tile for tile in tiles if view.holds(tile)), key=lambda tile: (tile[1], tile[0]))
    grouped = groupby(enumerate(shown), key=lambda pair: (pair[1][1], pair[1][0] - pair[0]))
    return [[tile for _, tile in run] for _, run in grouped]


def _mark(strip: Strip, tiles: Collection[Tile], colour: Rgb, word: str) -> None:
    left, top = strip.map_at
    for run in _runs(tiles, strip.view):
        first, last = strip.view.tile_box(run[0]), strip.view.tile_box(run[-1])
        height = strip.view.tile
        box = (left + first[0], top + first[1] - height, left + last[2], top + first[1])
        (_hatch if word == "lost" else _dash)(strip.sheet, box, colour)
        width, tall = tag_size(word, False)
        if box[2] - box[0] >= width + 6 and height >= tall:
            x, y = (box[0] + box[2] - width) // 2, (box[1] + box[3] - tall) // 2
            draw_tag(strip.sheet, (x, y, x + width, y + tall), word, border=INK)


def _hatch(sheet: Sheet, box: Box, colour: Rgb) -> None:
    """A box with slanted bars in a firm frame: something was here."""
    left, top, right, bottom = box
    height = bottom - top
    bars = []
    for x in range(left - height, right, 9):
        start, end = max(x, left), min(x + height, right)
        if end - start > 1:
            bars.append([(float(start), bottom - float(start - x)), (float(end), bottom - float(end - x))])
    sheet.strokes(bars, WHITE, 5)
    sheet.strokes(bars, colour, 2.6)
    sheet.frame((left - 2, top - 2, right + 2, bottom + 2), WHITE, 5)
    sheet.frame((left - 1, top - 1, right + 1, bottom + 1), INK, 3)


def _dash(sheet: Sheet, box: Box, colour: Rgb) -> None:
    """A box with a dashed frame and nothing in it."""
    left, top, right, bottom = (float(side) for side in box)
    path = [(left, top), (right, top), (right, bottom), (left, bottom), (left, top)]
    sheet.strokes([path], WHITE, 5)
    sheet.strokes(dashed(path, 8, 5), colour, 3)


def _mark_places(strip: Strip, report: Report, lost: Collection[str | None]) -> None:
    """A frame with corners cut off around the sign of every place that was lost, and the word."""
    for place in report.places:
        if place.id in lost and strip.view.holds(place.at):
            x, y = strip.view.centre(place.at)
            x, y = x + strip.map_at[0], y + strip.map_at[1]
            for colour, thick in ((WHITE, 7.0), (INK, 5.0), (VERMILLION, 2.6)):
                strip.sheet.strokes([_octagon(x, y, place_radius(strip.view.tile) + 7)], colour, thick)


def _octagon(x: float, y: float, radius: float) -> list[tuple[float, float]]:
    cut = radius * 0.42
    corners = [(-cut, -radius), (cut, -radius), (radius, -cut), (radius, cut)]
    corners += [(cut, radius), (-cut, radius), (-radius, cut), (-radius, -cut), (-cut, -radius)]
    return [(x + dx, y + dy) for dx, dy in corners]


def _key(ground: GroundChange, lost_places: bool, width: int) -> Sheet:
    """What the marks mean that are on the maps."""
    entries = []
    marks = [("ground proved reachable before, and not any more", _hatch, VERMILLION)] if ground.lost else []
    if ground.gained:
        marks.append(("ground proved reachable now, and not before", _dash, BLUISH_GREEN))
    for words, draw, colour in marks:
        entry = Sheet(440, 34)
        draw(entry, (6, 6, 60, 28), colour)
        entry.text((74, 9), words, TEXT)
        entries.append(entry)
    if lost_places:
        entry = Sheet(440, 34)
        for colour, thick in ((INK, 5.0), (VERMILLION, 2.6)):
            entry.strokes([_octagon(33, 17, 13)], colour, thick)
        entry.text((74, 9), "a place proved reachable before, and not any more", TEXT)
        entries.append(entry)
    rest = "A number in an angular badge is that of the list above, one in a ring a step of the easiest route."
    last = lines_of(wrap(rest, width, TEXT), TEXT, width, ink=QUIET_INK)
    signs = [in_columns(entries, max(1, width // 464), 24, 4)] if entries else []
    return stack([heading("Key", width), *signs, last], 8)
