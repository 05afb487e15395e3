"""A lost exit on lost ground: both marks are seen, nothing lies over them, and both maps have one frame."""

from itertools import combinations

import pytest

from reach.comparison.changes import Change, Direction, Kind
from reach.findings import Finding, Mark, MarkShape, Move, MoveKind, Severity, Verdict
from reach.report.change_layer import ChangeBadge, ChangeMarks, stretches
from reach.report.comparison_pictures import compose_pair
from reach.report.finding_layer import NumberedFinding
from reach.report.map_strip import draw_strips
from reach.report.palette import INK, REDDISH_PURPLE, VERDICT_COLOUR
from reach.report.view import cut_into_views
from tests.report.pictures import arc, level_of, place, report_of

LEVEL = level_of(["........", "........", "....====", "........", "########"])
LOST = ((4, 2), (5, 2), (6, 2), (7, 2))
GROUND = tuple((column, 4) for column in range(8))
OUT, MISS = Verdict.UNREACHABLE, "0 px across, 1 px up"
HOP = Move((1, 4), (5, 2), MoveKind.JUMP, 30, 3, 50.0, arc_px=arc((1, 4), (5, 2), 40.0))
FOUND = Finding(
    "unreachable-goal", Severity.ERROR, (5, 1), "", marks=(Mark(MarkShape.GAP, (), ((80.0, 38.0), (90.0, 33.0)), MISS),)
)


def reports():
    yes, nobody = Verdict.REACHABLE, {Verdict.UNDECIDED: ()}
    before = report_of(
        LEVEL,
        places=(place("start-1", "start", (1, 3)), place("way-out", "exit", (5, 1))),
        tiles={yes: LOST + GROUND, OUT: ()} | nobody,
        moves=(HOP,),
        route=(0,),
    )
    after = report_of(
        LEVEL,
        places=(place("start-1", "start", (1, 3)), place("way-out", "exit", (5, 1), OUT)),
        tiles={yes: GROUND, OUT: LOST} | nobody,
        findings=(FOUND,),
    )
    return before, after


@pytest.mark.parametrize("tile", [12, 24, 48])
def test_what_was_lost_is_seen_and_both_maps_have_one_frame(tile):
    both = reports()
    badges = ChangeBadge(1, Severity.ERROR, (5, 1), "way-out"), ChangeBadge(2, Severity.WARNING, (6, 2))
    marks = ChangeMarks(frozenset(LOST), frozenset(), frozenset({"way-out"}), badges)
    views = cut_into_views(range(8), range(5), tile, LEVEL.tile_px)
    drawn = [
        draw_strips(LEVEL, report, [NumberedFinding(3, each) for each in report.findings], views, marks, both)[0]
        for report in both
    ]
    assert drawn[0].view.top == drawn[1].view.top > 8
    assert drawn[0].map_at == drawn[1].map_at
    for strip, report in zip(drawn, both, strict=True):
        left, top = strip.map_at
        x, y = strip.view.centre((5, 1))
        sign = strip.sheet.image.crop(
            (round(left + x - 6), round(top + y - 6), round(left + x + 6), round(top + y + 6))
        )
        shown = {colour for _, colour in sign.getcolors(256)}
        assert VERDICT_COLOUR[report.places[1].verdict] in shown
        x1, y1, _, _ = strip.view.tile_box(LOST[0])
        x2 = strip.view.tile_box(LOST[-1])[2]
        hatch = (left + x1, top + y1, left + x2, top + y1 + 6)
        if tile > 12:
            assert strip.sheet.image.getpixel((hatch[0] + tile // 2, hatch[1] - 2)) == INK
        for one, two in [*combinations(strip.labels, 2), *((each, hatch) for each in strip.labels)]:
            assert not (one[0] < two[2] and two[0] < one[2] and one[1] < two[3] and two[1] < one[3])


def test_a_move_whose_window_is_lost_is_marked_on_its_map():
    before = reports()[0]
    title = "narrowest window of the easiest route (measured)"
    change = Change(Kind.WINDOW, Direction.WORSE, "ledge", "start-1", title, 483.3, 50.0, tiles=((1, 4), (5, 2)))
    told, empty = (compose_pair((LEVEL, LEVEL), (before, before), those) for those in ([change], []))
    assert told.height > empty.height  # the item, and the line of the key on badges
    purple = [{colour for _, colour in image.getcolors(10**6)} & {REDDISH_PURPLE} for image in (told, empty)]
    assert purple == [{REDDISH_PURPLE}, set()]


def test_ground_is_cut_into_unbroken_stretches():
    assert stretches([(2, 1), (0, 0), (1, 1), (4, 1)]) == [[(0, 0)], [(1, 1), (2, 1)], [(4, 1)]]
