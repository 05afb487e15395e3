"""The card of a level: its map to the pixel, its words, and what is told from several entrances together."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from reach.findings import Severity, Verdict
from reach.report.palette import (
    BLACK,
    BLUE,
    BLUISH_GREEN,
    HAZARD_FILL,
    MIN_TEXT_CONTRAST,
    PAGE,
    RULER,
    SOLID_FILL,
    VERMILLION,
    WHITE,
    YELLOW,
    contrast,
)
from reach.report.world_card import (
    BEGINS,
    CARD_WIDTH_PX,
    GREYED,
    STANDING_COLOUR,
    card_height,
    draw_card,
    entrance_verdict,
    pill_width,
    thumbnail,
    tile_verdicts,
    title_height,
)
from reach.report.world_table import Standing
from reach.world.result import Job
from tests.made_reports import SOFTLOCK, TIGHT_LANDING, make_report
from tests.made_worlds import NO, OPEN, YES, judged, judged_part, made_world
from tests.report.pictures import level_of

WIDE = {f"p{index}": "exit" for index in range(6)}
ROOMS = {"hall": WIDE, "den": {**WIDE, "gate": "entrance"}, "attic": WIDE, "lost": None}
LINKS = {"hall/p0": "den/in", "hall/p1": "den/gate", "attic/p0": "hall/in", "den/p0": "lost/in"}


def made(table=None, findings=None, start="hall/in"):
    world = made_world(ROOMS, LINKS, start)
    return world, judged(world, table, findings=findings or {})


def card(world, report, level, **values):
    result = next(one for one in report.levels if one.id == level)
    title = title_height(report)
    fields = {"distance": 1, "height": card_height(title), "title_px": title} | values
    return draw_card(report, result, world.by_id[level].level, **fields)


def words(sheet):
    return [item.text for item in sheet.texts]


def colours(image, box=None):
    part = image.crop(box) if box else image
    return {colour for _, colour in part.getcolors(part.width * part.height)}


# --- the map -------------------------------------------------------------------------------------------------------


def test_materials_and_verdicts_have_their_colours_and_patterns():
    level = level_of(["....", "#^#.", "####"])
    verdicts = {(0, 1): YES, (2, 1): NO, (0, 2): OPEN}
    picture = thumbnail(level, verdicts)
    assert picture.size == (48, 36)

    def tile(column, row):
        return colours(picture, (column * 12, row * 12, column * 12 + 12, row * 12 + 12))

    assert tile(3, 0) == {PAGE}
    assert tile(1, 1) == {HAZARD_FILL}
    assert tile(1, 2) == {SOLID_FILL}
    assert tile(0, 1) == {BLUISH_GREEN}
    assert tile(2, 1) == {VERMILLION, WHITE}
    assert tile(0, 2) == {YELLOW, BLACK}


def test_a_map_fills_the_room_that_it_has():
    assert thumbnail(level_of(["." * 120] * 20), {}).size == (204, 34)
    assert thumbnail(level_of(["." * 20] * 120), {}).size == (18, 108)
    assert thumbnail(level_of(["." * 3] * 2), {}).size == (36, 24)


def test_of_a_map_too_large_for_its_pixels_no_unreachable_tile_is_lost():
    level = level_of(["." * 900] * 40)
    picture = thumbnail(level, {(column, 30): YES for column in range(900)} | {(457, 30): NO})
    assert picture.size[0] <= 204
    pixels = np.asarray(picture)
    assert {tuple(map(int, pixel)) for pixel in pixels.reshape(-1, 3)} >= {BLUISH_GREEN}
    assert any((pixels == colour).all(axis=2).any() for colour in (VERMILLION, WHITE))
    assert not np.array_equal(pixels, np.asarray(thumbnail(level, {(column, 30): YES for column in range(900)})))


# --- several entrances ---------------------------------------------------------------------------------------------


def together(*tables, entered=(YES, YES), failed=False):
    """The verdict on one tile that has these verdicts from the entrances of a level."""
    _, report = made()
    den = next(one for one in report.levels if one.id == "den")
    outcomes = tuple(
        replace(one, report=make_report(tiles={each: ((1, 3),) if each is verdict else () for each in Verdict}))
        for one, verdict in zip(den.outcomes, tables, strict=True)
    )
    if failed:
        outcomes = (outcomes[0], replace(outcomes[1], report=None, state=type(outcomes[1].state).FAILED))
    links = tuple(
        replace(link, verdict=dict(zip(("in", "gate"), entered, strict=True)).get(link.target[1], link.verdict))
        if link.target[0] == "den"
        else link
        for link in report.links
    )
    report = replace(report, links=links)
    return tile_verdicts(report, replace(den, outcomes=outcomes))[1, 3]


@pytest.mark.parametrize(
    ("verdicts", "entered", "said"),
    [
        ((YES, NO), (YES, YES), YES),
        ((NO, NO), (YES, YES), NO),
        ((NO, OPEN), (YES, YES), OPEN),
        ((OPEN, YES), (YES, YES), YES),
        ((YES, NO), (OPEN, YES), OPEN),
        ((NO, NO), (OPEN, YES), NO),
        ((YES, YES), (OPEN, YES), YES),
    ],
)
def test_a_tile_is_reachable_from_one_entrance_and_unreachable_from_all(verdicts, entered, said):
    # the order of the outcomes is that of the places: `in` comes first
    assert together(*verdicts, entered=entered) is said


def test_where_an_entrance_could_not_be_checked_nothing_is_called_unreachable():
    assert together(NO, NO, failed=True) is OPEN
    assert together(YES, NO, failed=True) is YES


def test_an_entrance_is_as_reachable_as_the_best_link_to_it():
    _, report = made({"hall/in": {"p0": OPEN, "p1": NO}})
    assert entrance_verdict(report, ("hall", "in")) is YES
    assert entrance_verdict(report, ("den", "in")) is OPEN
    assert entrance_verdict(report, ("den", "gate")) is NO
    assert entrance_verdict(report, ("attic", "in")) is NO


def test_in_a_folder_every_start_is_entered():
    report = judged(made_world({"hall": WIDE}, {}, None))
    assert entrance_verdict(report, ("hall", "in")) is YES


# --- words and signs -----------------------------------------------------------------------------------------------


def test_the_card_tells_id_standing_numbers_and_way():
    world, report = made(findings={Job("den", "in"): (SOFTLOCK, TIGHT_LANDING)})
    warnings = report.count_of("den", Severity.WARNING)
    sheet = card(world, report, "den", distance=2)
    assert words(sheet) == ["den", "x errors", f"1 error, {warnings} warnings", "2 links from the start"]
    assert VERMILLION in colours(sheet.image)


def test_the_start_is_marked_by_words_and_a_thick_edge():
    world, report = made()
    sheet = card(world, report, "hall", distance=0)
    assert BEGINS in words(sheet)
    assert colours(sheet.image, (0, 0, 4, sheet.height)) == {BLUE}
    assert BEGINS not in words(card(world, report, "den"))


def test_a_level_that_nobody_enters_is_grey_and_hatched_with_its_words_on_plain_ground():
    world, report = made()
    sheet = card(world, report, "attic", distance=None)
    assert words(sheet)[1] == Standing.NOT_ENTERED.value and words(sheet)[-1] == "nobody gets here"
    assert colours(sheet.image, (3, 60, 10, 160)) == {GREYED, RULER}
    assert BLUISH_GREEN not in colours(sheet.image)
    for item in sheet.texts:
        left, top, _, bottom = item.box
        assert RULER not in colours(sheet.image, (left - 1, top, left, bottom))
        assert contrast(item.ink, item.paper) >= MIN_TEXT_CONTRAST


def test_a_level_that_cannot_be_read_has_no_map_and_says_so():
    world, report = made()
    assert {"x failed", "no level to draw", "not checked"} < set(words(card(world, report, "lost")))


def test_long_ids_are_written_out_on_several_lines():
    long = "the-lane-behind-the-old-harbour-wall-where-the-fishermen-live-7"
    world = made_world({long: WIDE}, {f"{long}/p0": f"{long}/in"}, f"{long}/in")
    sheet = card(world, judged(world), long)
    assert "".join(words(sheet)[:3]) == long
    assert max(item.box[2] for item in sheet.texts) < sheet.width


def test_every_standing_has_a_colour_on_which_its_word_can_be_read():
    assert set(STANDING_COLOUR) == set(Standing)
    for level in ROOMS:
        world, report = made()
        for item in card(world, report, level).texts:
            assert contrast(item.ink, item.paper) >= MIN_TEXT_CONTRAST


def test_a_level_that_was_not_checked_says_so_and_no_tile_of_it_has_a_verdict():
    world = made_world({"hall": {}, "den": {}}, {}, "hall/in")
    report = judged_part(world, ["hall"])
    hall, den = report.levels
    card = draw_card(report, den, world.by_id["den"].level, None, card_height(20), 20)
    words = [item.text for item in card.texts]
    assert "- not checked" in words and "unchanged since main" in words
    assert tile_verdicts(report, den) == {} != tile_verdicts(report, hall)
    assert entrance_verdict(report, ("den", "in")) is YES


def test_how_a_level_stands_leaves_room_on_its_card_for_where_the_game_begins():
    for standing in set(Standing) - {Standing.NOT_ENTERED, Standing.LEFT_OUT}:
        assert 10 + pill_width(standing.value) + 6 + pill_width(BEGINS) + 10 <= CARD_WIDTH_PX, standing
