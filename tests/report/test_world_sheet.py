"""The contact sheet, read back: pixels where they must be, nothing on anything else, the same each time."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import combinations, pairwise

import numpy as np
import pytest

from reach.errors import InputError
from reach.report.palette import BLUE, INK, MIN_MARK_CONTRAST, MIN_TEXT_CONTRAST, PAGE, QUIET_INK, VERMILLION, contrast
from reach.report.sheet import Sheet
from reach.report.world_layout import Arrow
from reach.report.world_sheet import LINK_COLOUR, MOST_LEVELS, compose_contact_sheet, draw_arrow, require_few_levels
from reach.world.result import Job
from tests.made_reports import SOFTLOCK, TIGHT_LANDING
from tests.made_worlds import NO, OPEN, YES, judged, made_world

DOORS = {f"d{index}": "exit" for index in range(6)}
ROOMS = {"hall": DOORS, "den": DOORS, "attic": DOORS, "lost": None, "barn": DOORS, "well": DOORS}
LINKS = {
    "hall/d0": "den/in",
    "den/d0": "hall/in",
    "hall/d1": "hall/in",
    "hall/d2": "lost/gate",
    "den/d1": "barn/in",
    "den/d2": "well/in",
    "attic/d0": "den/in",
}
TABLE = {"den/in": {"d1": OPEN, "d2": NO}}


def overlap(one, other) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def words(sheet):
    return [item.text for item in sheet.texts]


def made(rooms=ROOMS, links=LINKS, table=TABLE, start="hall/in", **values):
    world = made_world(rooms, links, start)
    return compose_contact_sheet(world, judged(world, table, **values))


@pytest.fixture(scope="module")
def small():
    return made(findings={Job("hall", "in"): (TIGHT_LANDING,), Job("den", "in"): (SOFTLOCK,)})


def many(number=45, seed=3):
    """A world with cycles, self-links, broken levels, ids of all lengths and places that nobody gets to."""
    chance = random.Random(seed)
    ids = [f"{chance.choice(['mill', 'the-old-harbour-wall-behind-the-market', 'pond'])}-{i}" for i in range(number)]
    rooms = {each: None if index and chance.random() < 0.1 else DOORS for index, each in enumerate(ids)}
    links, table = {}, {}
    for index, each in enumerate(ids):
        table[f"{each}/in"] = {"d0": chance.choice([YES, YES, OPEN, NO])}
        for door in range(chance.choice([1, 2, 3])):
            links[f"{each}/d{door}"] = f"{ids[(index + chance.choice([-4, -1, 0, 1, 1, 2, 6])) % (number - 5)]}/in"
    return made(rooms, links, table, f"{ids[0]}/in")


@pytest.fixture(scope="module", params=["small", "many", "folder", "single"])
def sheet(request, small):
    if request.param == "small":
        return small
    if request.param == "many":
        return many()
    if request.param == "folder":
        return made({f"room-{index}": DOORS for index in range(9)}, {}, {}, None)
    return made({"hall": DOORS}, {"hall/d0": "hall/in"}, {})


def test_no_text_lies_on_another_or_leaves_the_picture(sheet):
    for one, other in combinations(sheet.texts, 2):
        assert not overlap(one.box, other.box), (one, other)
    for item in sheet.texts:
        left, top, right, bottom = item.box
        assert left >= 0 and top >= 0 and right <= sheet.image.width and bottom <= sheet.image.height


def test_every_text_can_be_read(sheet):
    assert all(contrast(item.ink, item.paper) >= MIN_TEXT_CONTRAST and item.size >= 12 for item in sheet.texts)


def test_no_arrow_runs_over_a_text(sheet):
    left, top = sheet.corner
    for path in sheet.layout.paths.values():
        for (a, b), (c, d) in pairwise(path):
            box = min(a, c) + left - 1, min(b, d) + top - 1, max(a, c) + left + 1, max(b, d) + top + 1
            assert not any(overlap(box, item.box) for item in sheet.texts)


def test_every_level_stands_on_it_once(small):
    for level in ROOMS:
        assert words(small).count(level) == 1
    assert words(small)[0] == "made"
    assert words(small)[1].startswith("1 level failed, ")


def test_the_same_pixels_each_time_and_for_any_order_of_the_checks():
    first, again, other = (made(seed=seed) for seed in (1, 1, 2))
    assert first.image.tobytes() == again.image.tobytes() == other.image.tobytes()
    assert first.texts == other.texts


def test_a_large_world_is_drawn_whole():
    one = many()
    assert len(one.layout.cards) == 45 and one.image.width < 2600
    assert one.image.tobytes() == many().image.tobytes()


@pytest.mark.parametrize(
    "arrow",
    [
        Arrow("hall", "den", YES, both=True),
        Arrow("hall", "hall", YES),
        Arrow("den", "well", NO),
        Arrow("den", "barn", OPEN),
        Arrow("attic", "den", NO),
    ],
)
def test_every_arrow_has_its_colour_and_a_head_at_its_end(small, arrow):
    left, top = small.corner
    path = [(round(x + left), round(y + top)) for x, y in small.layout.paths[arrow]]
    pixels = np.asarray(small.image)
    colour = np.array(LINK_COLOUR[arrow.verdict])
    for (x, y), (before, _), head in ((path[-1], path[-2], True), (path[0], path[1], arrow.both)):
        inward = 1 if before > x else -1
        column = pixels[y - 4 : y + 5, x + inward * 9 - (inward < 0)]
        assert bool((column == colour).all(axis=1).sum() >= 7) is head


def drawn(verdict, both=False):
    sheet = Sheet(120, 20)
    draw_arrow(sheet, [(10, 10), (110, 10)], verdict, both)
    return np.asarray(sheet.image).astype(int)


def runs(pixels):
    """How many separate pieces the middle of the line has."""
    dark = (np.abs(pixels[10, 15:90] - np.array(PAGE)).sum(axis=1) > 200).astype(int)
    return int((np.diff(dark) == 1).sum() + dark[0])


def test_verdicts_of_links_are_told_by_shape_as_well_as_colour():
    whole, dashes, dots = (runs(drawn(verdict)) for verdict in (YES, NO, OPEN))
    assert whole == 1 and 3 <= dashes <= 7 and dots >= 2 * dashes
    assert LINK_COLOUR == {YES: BLUE, NO: VERMILLION, OPEN: INK}
    assert all(contrast(colour, PAGE) >= MIN_MARK_CONTRAST for colour in LINK_COLOUR.values())


def test_one_way_and_both_ways_are_told_by_their_heads():
    one, both = drawn(YES), drawn(YES, both=True)
    assert (one[6:15, 98:112] == both[6:15, 98:112]).all()
    wide = [(pixels[4:17, 19] != 255).any(axis=1).sum() for pixels in (one, both)]
    assert wide[0] <= 3 and wide[1] >= 8


def test_the_legend_tells_what_is_drawn_and_nothing_else(small):
    for text in (
        "x failed",
        "> begins here",
        " nobody gets there",
        " both ways   ",
        " one way   ",
        " exit undecided   ",
    ):
        assert text in words(small)
    alone = words(made({"hall": DOORS}, {"hall/d0": "hall/in"}, {}))
    for text in ("x failed", " nobody gets there", " both ways   ", " exit undecided   "):
        assert text not in alone
    folder = words(made({"hall": DOORS}, {}, {}, None))
    assert "Links   " not in folder and "> begins here" not in folder


def test_in_the_legend_a_line_tells_the_verdict_alone_and_heads_the_way_alone(small):
    pixels = np.asarray(small.image)
    boxes = {item.text: item.box for item in small.texts}

    def left_of(text):
        left, top, _, bottom = boxes[text]
        return pixels[top:bottom, left - 44 : left]

    line, heads = left_of(" exit can be reached   "), left_of(" both ways   ")
    assert 1 <= (line == np.array(BLUE)).all(axis=2).any(axis=1).sum() <= 3  # rows: a head has more
    assert not any((heads == np.array(colour)).all(axis=2).any() for colour in LINK_COLOUR.values())
    assert (heads == np.array(QUIET_INK)).all(axis=2).any(axis=1).sum() >= 7


def test_a_world_too_large_for_a_sheet_is_refused_before_it_is_checked():
    world = made_world({"hall": DOORS}, {}, None)
    require_few_levels(replace(world, levels=world.levels * MOST_LEVELS))
    with pytest.raises(InputError, match=r"1001 levels.*at most 1000"):
        require_few_levels(replace(world, levels=world.levels * (MOST_LEVELS + 1)))
