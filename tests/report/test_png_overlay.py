"""The picture of a check, read back: pixels where they must be, every word there, nothing on top of anything else."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, pairwise

import numpy as np
import pytest
from PIL import Image

from reach.errors import InputError, OutputError
from reach.findings import Finding, Mark, MarkShape, Severity, Verdict
from reach.kernels.params import HAZARD, ONE_WAY, SOLID, SPRING
from reach.report.palette import (
    BLACK,
    BLUISH_GREEN,
    COVERED,
    COVERED_EDGE,
    EDGE,
    HAZARD_FILL,
    MIN_TEXT_CONTRAST,
    ORANGE,
    PAGE,
    QUIET_INK,
    REDDISH_PURPLE,
    ROUTE,
    SEVERITY_COLOUR,
    SOLID_FILL,
    SOLID_HATCH,
    VERMILLION,
    WHITE,
    YELLOW,
    contrast,
)
from reach.report.png_overlay import compose_overlay, draw_overlay, save_image, tile_size
from reach.report.view import OVERLAP_TILES
from tests.checked import checked, found, level
from tests.report.pictures import level_of, place, random_scene, report_of, small_scene


@pytest.fixture(scope="module")
def small():
    scene = small_scene()
    return scene, compose_overlay(scene.level, scene.report)


@pytest.fixture(scope="module")
def long():
    scene = random_scene(400, 15, 5, 60)
    return scene, compose_overlay(scene.level, scene.report)


def overlap(one, other) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def colours(overlay, box) -> dict:
    part = overlay.image.crop(box)
    return {colour: number for number, colour in part.getcolors(part.width * part.height)}


def words(overlay) -> str:
    return " ".join(item.text for item in overlay.texts)


def plain(rows, **fields):
    """A level with a report that says nothing but what `fields` say."""
    level = level_of(rows)
    return compose_overlay(level, report_of(level, **fields))


# --- pixels --------------------------------------------------------------------------------------------------------


def test_solid_ground_is_filled_hatched_and_outlined():
    overlay = plain(["....", "....", ".##.", ".##."], tiles={})
    left, top, right, bottom = overlay.tile_box((1, 2))
    seen = colours(overlay, (left, top, right, bottom))
    assert {SOLID_FILL, SOLID_HATCH, EDGE} == set(seen)
    assert seen[SOLID_FILL] > seen[SOLID_HATCH] > 0.1 * (right - left) ** 2
    assert set(colours(overlay, (left, top, right, top + 2))) == {EDGE}
    assert set(colours(overlay, (left, top, left + 2, bottom))) == {EDGE}
    inner = colours(overlay, (right - 2, top + 8, right, bottom))
    assert EDGE not in inner


def test_a_one_way_tile_is_a_bar_with_ticks():
    overlay = plain(["...", ".=.", "..."], tiles={})
    left, top, right, bottom = overlay.tile_box((1, 1))
    assert set(colours(overlay, (left, top, right, top + 2))) == {EDGE}
    lower = colours(overlay, (left, top + 3, right, bottom))
    assert 0.03 < lower[EDGE] / sum(lower.values()) < 0.3
    row = [overlay.image.getpixel((x, top + 6)) == EDGE for x in range(left, right)]
    assert sum(1 for before, after in pairwise(row) if after and not before) == 3


def test_a_hazard_is_teeth_that_widen_downward():
    overlay = plain(["...", ".^.", "..."], tiles={})
    left, top, right, bottom = overlay.tile_box((1, 1))
    dark = [sum(overlay.image.getpixel((x, y)) == HAZARD_FILL for x in range(left, right)) for y in range(top, bottom)]
    assert dark[2] == 0
    assert dark[len(dark) // 3] < dark[2 * len(dark) // 3] < dark[-1]
    assert dark[-1] == right - left


def test_a_spring_is_told_from_solid_ground():
    overlay = plain(["...", ".~.", "..."], tiles={})
    seen = colours(overlay, overlay.tile_box((1, 1)))
    assert SOLID_FILL not in seen
    assert seen[WHITE] > seen[HAZARD_FILL] > 40
    assert seen[EDGE] > 40


def band(verdict):
    overlay = plain(["....", "....", "####"], tiles={verdict: ((0, 2), (1, 2), (2, 2))})
    left, top, right, _ = overlay.tile_box((1, 2))
    return overlay, (left, top, right, top + 8)


@pytest.mark.parametrize(
    ("verdict", "colour"),
    [(Verdict.REACHABLE, BLUISH_GREEN), (Verdict.UNREACHABLE, VERMILLION), (Verdict.UNDECIDED, YELLOW)],
)
def test_a_standable_tile_carries_its_verdict(verdict, colour):
    overlay, box = band(verdict)
    seen = colours(overlay, box)
    assert seen.get(colour, 0) > 0.15 * sum(seen.values())
    others = {BLUISH_GREEN, VERMILLION, YELLOW} - {colour}
    assert not others & set(seen)
    left, top, right, bottom = overlay.tile_box((3, 2))
    assert colour not in colours(overlay, (left, top, right, bottom)), "a tile without a verdict carries none"


def test_verdicts_differ_without_colour():
    # WCAG 2.2, 1.4.1: colour is not the only means. In grey, along the middle of the band: a plain bar, an alternation
    # of light and middle, and light dots on black.
    def grey_row(verdict):
        overlay, (left, top, right, _) = band(verdict)
        return [overlay.image.convert("L").getpixel((x, top + 5)) for x in range(left, right)]

    def changes(row):
        return sum(abs(a - b) > 40 for a, b in pairwise(row))

    rows = {verdict: grey_row(verdict) for verdict in Verdict}
    assert changes(rows[Verdict.REACHABLE]) == 0
    assert changes(rows[Verdict.UNREACHABLE]) >= 4
    assert changes(rows[Verdict.UNDECIDED]) >= 4
    assert min(rows[Verdict.UNREACHABLE]) > 100
    assert min(rows[Verdict.UNDECIDED]) < 20


def test_a_verdict_stands_on_its_own_ground():
    overlay, (left, top, _, bottom) = band(Verdict.REACHABLE)
    column = [overlay.image.getpixel((left + 5, y)) for y in range(top, bottom + 8)]
    first = column.index(BLUISH_GREEN)
    last = len(column) - 1 - column[::-1].index(BLUISH_GREEN)
    assert column[first - 1] == EDGE
    assert column[last + 1] == WHITE


def test_the_region_that_the_body_covers_is_tinted_and_outlined():
    cells = np.zeros((32, 40), dtype=bool)
    cells[8:24, 8:24] = True
    overlay = plain(["....."] * 4, tiles={}, coverage=cells)
    left, top, right, bottom = overlay.tile_box((1, 1))
    assert overlay.image.getpixel(((left + right) // 2, (top + bottom) // 2)) == COVERED
    assert overlay.image.getpixel((left + 10, top)) != COVERED
    outline = colours(overlay, (left, top, right, top + 1))
    assert outline.get(COVERED_EDGE, 0) + sum(n for c, n in outline.items() if max(c) < 230) > 0.8 * (right - left)
    assert COVERED not in colours(overlay, overlay.tile_box((3, 3)))
    assert colours(overlay, overlay.tile_box((3, 2)))[PAGE] > 0.8 * (right - left) ** 2


def test_the_region_follows_eighths_of_a_tile():
    cells = np.zeros((32, 40), dtype=bool)
    cells[16:24, 8:13] = True
    overlay = plain(["....."] * 4, tiles={}, coverage=cells)
    left, top, right, bottom = overlay.tile_box((1, 2))
    edge = left + (right - left) * 5 // 8
    y = (top + bottom) // 2
    assert overlay.image.getpixel((edge - 3, y)) == COVERED
    assert overlay.image.getpixel((edge - 1, y)) == COVERED_EDGE
    assert overlay.image.getpixel((edge + 1, y)) == PAGE


def test_moves_are_drawn_along_their_arcs(small):
    scene, overlay = small
    view, (left, top) = overlay.windows[0]
    arc = scene.report.moves[2].arc_px
    dark = 0
    for point in arc[4:-4]:
        x, y = view.point(point)
        around = colours(overlay, (round(x + left) - 2, round(y + top) - 2, round(x + left) + 2, round(y + top) + 2))
        dark += any(max(colour) < 150 for colour in around)
    assert dark >= len(arc[4:-4]) - 3


def test_the_route_is_thicker_than_other_moves(small):
    scene, overlay = small
    view, (left, top) = overlay.windows[0]
    x, y = view.point(scene.report.moves[0].arc_px[4])
    box = (round(x + left) - 6, round(y + top) - 6, round(x + left) + 6, round(y + top) + 6)
    assert colours(overlay, box)[ROUTE] >= 24


def test_places_show_their_verdict_by_colour_and_sign(small):
    scene, overlay = small
    fills = {Verdict.REACHABLE: BLUISH_GREEN, Verdict.UNREACHABLE: VERMILLION, Verdict.UNDECIDED: YELLOW}
    for one in scene.report.places:
        seen = colours(overlay, overlay.tile_box(one.at))
        assert seen.get(fills[one.verdict], 0) > 60, one.id
        assert one.id in [item.text for item in overlay.texts]
    assert "?" in [item.text for item in overlay.texts], "the sign of an undecided place"


def outline_of(severity, colour, accepted=None, tiles=((3, 2),)):
    finding = Finding("softlock", severity, (3, 2), "Stuck.", marks=(Mark(MarkShape.TILE, tiles),), accepted=accepted)
    overlay = plain(["......."] * 5, tiles={}, findings=(finding,))
    left, top, _, bottom = overlay.tile_box((3, 2))
    ring = colours(overlay, (left - 4, top + 8, left + 2, bottom - 8))
    return ring.get(colour, 0), ring.get(BLACK, 0), ring


@pytest.mark.parametrize(
    ("severity", "colour"),
    [(Severity.ERROR, VERMILLION), (Severity.WARNING, ORANGE), (Severity.NOTE, REDDISH_PURPLE)],
)
def test_a_marked_tile_is_outlined_in_its_severitys_colour_on_black(severity, colour):
    coloured, cased, _ = outline_of(severity, colour)
    assert coloured > 10
    assert cased > 10


def test_severities_differ_by_their_line_too():
    shares = []
    for severity, colour in ((Severity.ERROR, VERMILLION), (Severity.WARNING, ORANGE), (Severity.NOTE, REDDISH_PURPLE)):
        coloured, cased, _ = outline_of(severity, colour)
        shares.append(coloured / (coloured + cased))
    assert shares[0] > shares[1] > shares[2]


@pytest.mark.parametrize("severity", Severity)
def test_an_accepted_finding_steps_back(severity):
    """It is a thin grey line without a casing, and can still be seen."""
    quiet, cased, ring = outline_of(severity, QUIET_INK, accepted="The tide has come in.")
    counted = outline_of(severity, SEVERITY_COLOUR[severity])[2]
    assert quiet > 5 and cased == 0 and SEVERITY_COLOUR[severity] not in ring
    drawn, drawn_when_counted = (sum(n for c, n in one.items() if min(c) < 160) for one in (ring, counted))
    assert 1.5 * drawn < drawn_when_counted, (drawn, drawn_when_counted)


def test_tiles_that_touch_are_outlined_together():
    """Between the marked tile and one beside it there is no line."""
    alone = outline_of(Severity.ERROR, VERMILLION)[0]
    assert outline_of(Severity.ERROR, VERMILLION, tiles=((2, 2), (3, 2)))[0] == 0 < alone


def test_what_is_accepted_never_hides_what_is_not():
    """Both mark the same tile; the accepted one would come last by its number."""
    marks = (Mark(MarkShape.TILE, ((3, 2),)),)
    note = Finding("unused-ground", Severity.NOTE, (3, 2), "", marks=marks)
    meant = Finding("softlock", Severity.ERROR, (3, 2), "", marks=marks, accepted="It is a trap.")
    overlay = plain(["......."] * 5, tiles={}, findings=(note, meant))
    left, top, _, bottom = overlay.tile_box((3, 2))
    ring = colours(overlay, (left - 4, top + 8, left + 2, bottom - 8))
    assert ring[REDDISH_PURPLE] > 5 and QUIET_INK not in ring


def test_a_place_is_named_once():
    """The marks of a finding about a place add no second name."""
    rows = ["............", "..........!.", ".......#####", ".......#####", "@......#####", "############"]
    report = checked(rows)
    assert found(report, "unreachable-goal")
    overlay = compose_overlay(level(rows), report)
    (_, map_top), bottom = overlay.windows[0][1], overlay.tile_box((0, 5))[3]
    names = [item.text for item in overlay.texts if map_top <= item.box[1] < bottom]
    assert names.count("goal-1") == 1
    assert any("across" in name for name in names)


def test_a_foothold_is_marked_above_its_tops():
    finding = Finding(
        "softlock", Severity.ERROR, (2, 3), "", marks=(Mark(MarkShape.FOOTHOLD, ((1, 3), (2, 3), (3, 3))),)
    )
    overlay = plain(["......"] * 3 + [".###..", "######"], tiles={}, findings=(finding,))
    for column in (1, 3):
        left, top, right, _ = overlay.tile_box((column, 3))
        assert colours(overlay, (left + 8, top - 8, right - 8, top)).get(VERMILLION, 0) > 20
    left, top, right, _ = overlay.tile_box((4, 3))
    assert VERMILLION not in colours(overlay, (left + 8, top - 8, right, top))


def test_an_arc_and_a_gap_are_marked():
    arc = tuple((16.0 * (1 + i / 4), 40.0 - 20.0 * (1 - ((i - 8) / 8) ** 2)) for i in range(17))
    finding = Finding(
        "tight-landing",
        Severity.ERROR,
        (5, 3),
        "",
        marks=(
            Mark(MarkShape.ARC, points_px=arc),
            Mark(MarkShape.GAP, points_px=((16.0, 72.0), (96.0, 72.0)), label="5 px short"),
        ),
    )
    overlay = plain(["........"] * 6, tiles={}, findings=(finding,))
    view, (left, top) = overlay.windows[0]
    for point in (arc[3], arc[13], (24.0, 72.0), (90.0, 72.0)):
        x, y = view.point(point)
        box = (round(x + left) - 3, round(y + top) - 3, round(x + left) + 3, round(y + top) + 3)
        assert colours(overlay, box).get(VERMILLION, 0) >= 3, point
    assert "5 px short" in [item.text for item in overlay.texts]


# --- words ---------------------------------------------------------------------------------------------------------


def test_the_title_names_level_movement_and_counts(small):
    _, overlay = small
    text = words(overlay)
    assert overlay.texts[0].text == "Rope Walk"
    assert "lamplighter" in text
    assert "60 ticks a second" in text
    for part in ("1 error", "2 warnings", "1 note", "1 accepted by the level file", "3 reachable", "9 reachable"):
        assert part in text, part


def test_an_incomplete_check_says_so_at_the_top(small):
    _, overlay = small
    first = next(item for item in overlay.texts if item.text.startswith("Incomplete: the time limit of 10 s"))
    assert first.box[3] < overlay.windows[0][1][1]
    assert (first.ink, first.paper) == (YELLOW, BLACK)


def test_a_complete_check_does_not():
    assert "Incomplete" not in words(plain(["....", "####"]))


def test_every_finding_is_described_below_the_map(small):
    scene, overlay = small
    text = words(overlay)
    map_bottom = overlay.windows[0][1][1] + overlay.windows[0][0].height
    for finding in scene.report.findings:
        for word in (finding.message + " " + finding.advice).split():
            assert word in text, (finding.rule, word)
        title = f"{finding.severity.value}: {finding.rule}, tile {finding.at[0]},{finding.at[1]}"
        item = next(item for item in overlay.texts if item.text == title)
        assert item.box[1] > map_bottom
    assert "Accepted by the level file: One way on purpose." in text


def test_a_finding_has_one_number_on_the_map_and_in_the_list(small):
    scene, overlay = small
    view, (left, top) = overlay.windows[0]
    on_map = (left, top, left + view.width, top + view.top + view.height)
    for number in range(1, len(scene.report.findings) + 1):
        here = [item for item in overlay.texts if item.text == str(number) and item.size == 13]
        assert sum(overlap(item.box, on_map) for item in here) == 1, number
        assert sum(item.box[1] > on_map[3] for item in here) >= 1, number


def test_the_gravest_finding_comes_first(small):
    _, overlay = small
    titles = [
        item.text for item in overlay.texts if ", tile " in item.text and item.text.split(":")[0] in set(Severity)
    ]
    assert [title.split(":")[0] for title in titles] == ["error", "warning", "warning", "note", "note"]
    assert titles[-1].startswith("note: no-return"), "what is accepted comes last"


def test_a_finding_about_the_whole_level_is_listed():
    overlay = plain(["....", "####"], findings=(Finding("stale-accept", Severity.NOTE, None, "Nothing matches."),))
    assert "note: stale-accept, whole level" in words(overlay)
    assert overlay.labels == ()


def test_the_route_is_listed_move_by_move(small):
    _, overlay = small
    text = words(overlay)
    assert "Easiest route to gate" in text
    assert "Jump from tile 3,4 to tile 6,1: window 6 ticks (100 ms), chance 92 %" in text


def test_timing_figures_come_with_their_note(small):
    _, overlay = small
    assert "not a promise that everybody can play the level" in words(overlay)
    assert "averages" in words(overlay)
    assert "averages" not in words(plain(["....", "####"]))


def test_the_key_explains_what_is_there_and_nothing_else(small):
    _, overlay = small
    text = words(overlay)
    parts = (
        "solid ground",
        "one-way:",
        "hazard:",
        "spring:",
        "undecided: neither is proved",
        "open head",
        "easiest route",
    )
    for part in parts:
        assert part in text, part
    bare = words(plain(["....", "####"]))
    assert "solid ground" in bare
    for part in parts[1:]:
        assert part not in bare, part


def test_all_text_stands_out_from_what_it_stands_on(small, long):
    for _, overlay in (small, long):
        for item in overlay.texts:
            assert contrast(item.ink, item.paper) >= MIN_TEXT_CONTRAST, item
            seen = colours(overlay, item.box)
            # Letters cover less than their paper does, but for the bold letter in the middle of a small sign.
            near = sum(n for colour, n in seen.items() if np.abs(np.subtract(colour, item.paper)).max() < 13)
            assert near > 0.2 * sum(seen.values()), item
            assert max(contrast(colour, item.paper) for colour in seen) >= MIN_TEXT_CONTRAST, item


def test_texts_do_not_overlap(small, long):
    for _, overlay in (small, long):
        boxes = sorted((item.box, item.text) for item in overlay.texts if item.text)
        for i, (one, text) in enumerate(boxes):
            for other, text2 in boxes[i + 1 :]:
                if other[0] >= one[2]:
                    break
                assert not overlap(one, other), (text, text2)


# --- layout --------------------------------------------------------------------------------------------------------


def test_labels_do_not_overlap(small, long):
    for _, overlay in (small, long):
        assert len(overlay.labels) > 10
        assert not any(overlap(one, other) for one, other in combinations(overlay.labels, 2))


def test_findings_of_one_tile_do_not_cover_each_other():
    findings = tuple(Finding("softlock", list(Severity)[i % 3], (2, 1), f"Number {i}.") for i in range(60))
    overlay = plain(["......", "......", "######"], findings=findings, places=(place("lamp", "goal", (2, 1)),))
    assert len(overlay.labels) == 61
    assert not any(overlap(one, other) for one, other in combinations(overlay.labels, 2))
    width, height = overlay.image.size
    assert all(x1 >= 0 and y1 >= 0 and x2 <= width and y2 <= height for x1, y1, x2, y2 in overlay.labels)
    key_top = next(item for item in overlay.texts if item.text == "Key").box[1]
    badges = [item for item in overlay.texts if item.text.isdigit() and item.size == 13 and item.box[3] < key_top]
    for number in range(1, 61):
        assert sum(item.text == str(number) for item in badges) == 2, "once on the map, once in the list"


def test_a_long_level_is_cut_into_strips(long):
    _, overlay = long
    assert len(overlay.windows) >= 5
    columns = [range(view.first_column, view.end_column) for view, _ in overlay.windows]
    assert sorted({c for part in columns for c in part}) == list(range(400))
    for before, after in pairwise(columns):
        assert before.stop - after.start == OVERLAP_TILES
    assert overlay.image.width <= 1800
    assert all(view.tile >= 20 for view, _ in overlay.windows)
    boxes = [(x, y, x + view.width, y + view.top + view.height) for view, (x, y) in overlay.windows]
    assert not any(overlap(one, other) for one, other in combinations(boxes, 2))


def test_every_strip_has_its_rulers(long):
    _, overlay = long
    for view, (left, top) in overlay.windows:
        bottom = top + view.top + view.height
        for column in range(view.first_column, view.end_column):
            if column % 5 == 0:
                middle = left + (column - view.first_column + 0.5) * view.tile
                near = [
                    item
                    for item in overlay.texts
                    if item.text == str(column) and abs((item.box[0] + item.box[2]) / 2 - middle) <= 1.5
                ]
                assert any(0 < top - item.box[3] < 25 for item in near), column
                assert any(item.box[1] > bottom for item in near), column


def test_a_tall_level_is_cut_too():
    scene = random_scene(30, 160, 7, 14)
    overlay = compose_overlay(scene.level, scene.report)
    rows = [range(view.first_row, view.end_row) for view, _ in overlay.windows]
    assert sorted({r for part in rows for r in part}) == list(range(160))
    corners = [at for _, at in overlay.windows]
    assert corners[0][0] < corners[1][0], "narrow strips stand side by side"


def test_equal_input_gives_equal_pixels():
    for make in (small_scene, lambda: random_scene(60, 14, 4, 12)):
        one, other = (draw_overlay(scene.level, scene.report) for scene in (make(), make()))
        assert one.tobytes() == other.tobytes()


@pytest.mark.parametrize("scale", [1, 2, 3])
def test_a_scale_that_is_asked_for_is_kept(scale):
    scene = small_scene()
    overlay = compose_overlay(scene.level, scene.report, scale)
    assert overlay.windows[0][0].tile == 16 * scale
    assert not any(overlap(one, other) for one, other in combinations(overlay.labels, 2))


@pytest.mark.parametrize("scale", [0, -1, 60])
def test_a_scale_out_of_bounds_is_refused(scale):
    level = level_of(["." * 100] * 20)
    with pytest.raises(InputError, match="scale"):
        tile_size(level, scale)


def test_a_huge_map_is_drawn_small_and_says_so():
    level = level_of(["." * 1200] * 599 + ["#" * 1200])
    tiles = {
        Verdict.REACHABLE: tuple((c, 599) for c in range(1200)),
    }
    overlay = compose_overlay(level, report_of(level, tiles=tiles))
    view = overlay.windows[0][0]
    assert len(overlay.windows) == 1
    assert view.tile < 12
    assert overlay.image.width * overlay.image.height < 45_000_000
    assert f"Drawn small, {view.tile} px a tile" in words(overlay)
    assert colours(overlay, overlay.tile_box((600, 599))).get(BLUISH_GREEN, 0) > 0


def test_moves_over_the_upper_edge_are_seen(small):
    _, overlay = small
    view, _ = overlay.windows[0]
    assert view.top > view.tile


def test_odd_names_and_messages_fit():
    level = level_of(["....", "####"], name="\x00")
    finding = Finding("softlock", Severity.ERROR, (1, 1), "w" * 5000 + "\n\x1b[0m " + "long " * 900)
    report = report_of(level, findings=(finding,), movement_name="x" * 900)
    overlay = compose_overlay(level, report)
    assert overlay.texts[0].text == "(level without a name)"
    assert all(item.box[2] <= overlay.image.width and item.box[0] >= 0 for item in overlay.texts)
    assert overlay.image.height < 1500
    assert any(item.text.endswith("…") for item in overlay.texts), "what is left out is seen to be left out"


def test_more_findings_than_can_be_shown_are_counted():
    findings = tuple(Finding("unused-ground", Severity.NOTE, (i % 40, 1), "Unused.") for i in range(320))
    overlay = plain(["." * 40, "#" * 40], findings=findings)
    assert "320 notes" in words(overlay)
    assert "20 further findings not numbered here" in words(overlay)


@pytest.mark.parametrize("rows", [["."], ["#"], ["." * 3] * 200])
def test_the_smallest_and_the_narrowest_level(rows):
    overlay = plain(rows, tiles={})
    assert "No findings" in words(overlay)


def test_a_mark_off_the_map_is_no_trouble():
    finding = Finding(
        "softlock", Severity.ERROR, (1, 0), "", marks=(Mark(MarkShape.ARC, points_px=((-90.0, -90.0), (900.0, 400.0))),)
    )
    overlay = plain(["....", "####"], findings=(finding,))
    assert len(overlay.labels) == 1


def test_a_report_is_not_changed_by_drawing_it():
    scene = small_scene()
    before = replace(scene.report)
    coverage = scene.report.coverage.copy()
    draw_overlay(scene.level, scene.report)
    assert scene.report.findings == before.findings
    assert (scene.report.coverage == coverage).all()


def test_materials_have_signs_of_their_own():
    assert len({SOLID, ONE_WAY, HAZARD, SPRING}) == 4
    pictures = {symbol: plain(["...", f".{symbol}.", "..."], tiles={}) for symbol in ".#=^~"}
    tiles = {
        symbol: overlay.image.crop(overlay.tile_box((1, 1))).convert("L").tobytes()
        for symbol, overlay in pictures.items()
    }
    assert len(set(tiles.values())) == 5, "they differ in grey"


# --- files ---------------------------------------------------------------------------------------------------------


def test_a_saved_picture_is_a_png_with_the_same_pixels(tmp_path, small):
    _, overlay = small
    save_image(overlay.image, tmp_path / "map.png")
    with Image.open(tmp_path / "map.png") as image:
        assert image.format == "PNG"
        assert image.tobytes() == overlay.image.tobytes()
        assert "date" not in " ".join(image.info).lower()


def test_a_picture_that_cannot_be_written_leaves_nothing(tmp_path, small):
    _, overlay = small
    with pytest.raises(OutputError):
        save_image(overlay.image, tmp_path / "absent" / "map.png")
    assert list(tmp_path.iterdir()) == []


def test_places_of_one_tile_are_all_seen():
    places = (place("lamp", "goal", (2, 0)), place("bell", "pickup", (2, 0)))
    overlay = plain(["......", "######"], places=places)
    letters = [item for item in overlay.texts if item.text in {"G", "P"} and item.paper == BLUISH_GREEN]
    on_map = [item for item in letters if item.box[3] < overlay.windows[0][1][1] + 120]
    assert {item.text for item in on_map} == {"G", "P"}
    assert not overlap(on_map[0].box, on_map[1].box)
