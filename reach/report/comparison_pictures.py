"""Pictures of what got worse: a level before and after, with what was lost marked in both."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from PIL import Image

from reach.comparison.changes import Change, Comparison, Direction, Kind
from reach.comparison.level_changes import GroundChange, ground_change
from reach.errors import OutputError
from reach.files import reason
from reach.findings import Finding, Mark, MarkShape
from reach.report.blocks import in_columns, lines_of, stack
from reach.report.change_layer import ChangeBadge, ChangeMarks, dashed_box, draw_frame, hatched_box, stretches
from reach.report.comparison_text import value_words
from reach.report.finding_layer import NumberedFinding
from reach.report.font import clean, shorten, wrap
from reach.report.legend import TEXT, TITLE, heading, note_block
from reach.report.map_strip import Strip, draw_strips
from reach.report.moves_layer import flown_path
from reach.report.palette import QUIET_INK
from reach.report.png_overlay import LEAST_WIDTH, MARGIN, save_image, set_side_by_side, tile_size
from reach.report.sheet import Sheet
from reach.report.view import STRIP_WIDTH_PX, View, cut_into_views
from reach.report.world_pictures import picture_names

if TYPE_CHECKING:
    from reach.findings import Report, Tile
    from reach.level import Level
    from reach.world.world_file import LoadedWorld

Find = Callable[[str, str, str], "Report | None"]
"""Returns the whole report of a side ("before", "after") on a level from an entrance, None if there is none."""

MOST_CHANGES = 12
LOSABLE = (Kind.GOAL, Kind.PLACE)
"""Kinds of changes that lose a place."""


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
    views = _views(levels)
    lists = (_windows(reports[0], changes), [*_windows(reports[1], changes), *_new_findings(reports[1], changes)])
    panels = []
    badged: set[int] = set()
    for when, level, report, found in zip(("Before", "After"), levels, reports, lists, strict=True):
        marks = ChangeMarks(
            ground.lost, ground.gained, _lost_places(changes), tuple(_badges(report, changes, ground.lost))
        )
        badged.update([badge.number for badge in marks.badges] + [each.number for each in found])
        strips = draw_strips(level, report, found, views[when], marks, reports)
        panels.append(_panel(f"{when}: {clean(report.movement_name)}", strips))
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
        _key(ground, bool(_lost_places(changes)), bool(badged), any(report.route for report in reports), width),
    ]
    if any(change.kind is Kind.WINDOW for change in changes):
        blocks.append(note_block(width))
    body = stack(blocks, 14)
    page = Sheet(width + 2 * MARGIN, body.height + 2 * MARGIN)
    page.paste(body, (MARGIN, MARGIN))
    return page.image


def _views(levels: tuple[Level, Level]) -> dict[str, list[View]]:
    """The windows on either level, their tiles drawn alike."""
    tile = min(tile_size(level, None) for level in levels)
    return {
        when: cut_into_views(range(level.columns), range(level.rows), tile, level.tile_px)
        for when, level in zip(("Before", "After"), levels, strict=True)
    }


def _panel(title: str, strips: Sequence[Strip]) -> Sheet:
    """One side: its title and the map's strips."""
    width = max(strip.sheet.width for strip in strips)
    return stack([heading(shorten(title, width, 17, True), width), *(strip.sheet for strip in strips)], 8)


def _lost_places(changes: Sequence[Change]) -> frozenset[str]:
    """The places that the list says are lost."""
    return frozenset(change.place for change in changes if change.place and change.kind in LOSABLE)


def _badges(report: Report, changes: Sequence[Change], lost: Collection[Tile]) -> Iterator[ChangeBadge]:
    """The badges of what was lost: at each place, and at the middle of the longest stretch of the ground."""
    at = {place.id: place.at for place in report.places}
    for number, change in enumerate(changes[:MOST_CHANGES], start=1):
        severity = change.kind.severity
        if change.kind is Kind.TILES and (tiles := [tile for tile in change.tiles if tile in lost]):
            longest = max(stretches(tiles), key=len)
            yield ChangeBadge(number, severity, longest[len(longest) // 2])
        elif change.place in at and (change.kind in LOSABLE or not change.tiles):
            yield ChangeBadge(number, severity, at[change.place], change.place)


def _windows(report: Report, changes: Sequence[Change]) -> list[NumberedFinding]:
    """The moves whose windows got narrower, as far as the easiest route has them, as findings to be marked."""
    found = []
    for number, change in enumerate(changes[:MOST_CHANGES], start=1):
        if change.kind is Kind.WINDOW:
            moves = [report.moves[index] for index in report.route]
            path = next(
                (flown_path(each, report.tile_px) for each in moves if (each.source, each.target) == change.tiles), ()
            )
            if path:
                marks = (Mark(MarkShape.ARC, points_px=path),)
                found.append(
                    NumberedFinding(
                        number, Finding(change.kind.label, change.kind.severity, None, change.title, marks=marks)
                    )
                )
    return found


def _new_findings(report: Report, changes: Sequence[Change]) -> list[NumberedFinding]:
    """The findings that are new or graver, each with the number of its change in the list."""
    found = []
    for number, change in enumerate(changes[:MOST_CHANGES], start=1):
        if change.kind in (Kind.ERROR, Kind.WARNING, Kind.MISSABLE) and change.tiles:
            same = (each for each in report.findings if each.at in change.tiles and each.message == change.message)
            found += [NumberedFinding(number, each) for each in same]
    return found


def _key(ground: GroundChange, lost_places: bool, badges: bool, route: bool, width: int) -> Sheet:
    """What the marks mean that are on the maps."""
    entries = []
    marks = [("ground proved reachable before, and not any more", hatched_box)] if ground.lost else []
    if ground.gained:
        marks.append(("ground proved reachable now, and not before", dashed_box))
    for words, draw in marks:
        entry = Sheet(440, 34)
        draw(entry, (6, 10, 60, 24))
        entry.text((74, 9), words, TEXT)
        entries.append(entry)
    if lost_places:
        entry = Sheet(440, 34)
        draw_frame(entry, (33, 17), 12)
        entry.text((74, 9), "a place proved reachable before, and not any more", TEXT)
        entries.append(entry)
    numbers = ["in an angular badge is that of the list above"] if badges else []
    if route:
        numbers.append("in a ring is a step of the easiest route")
    rest = f"A number {', one '.join(numbers)}." if numbers else ""
    last = [lines_of(wrap(rest, width, TEXT), TEXT, width, ink=QUIET_INK)] if rest else []
    signs = [in_columns(entries, max(1, width // 464), 24, 4)] if entries else []
    return stack([heading("Key", width), *signs, *last], 8)
