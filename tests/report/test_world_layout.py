"""Where levels and arrows stand: nothing on anything else, whatever the world."""

from __future__ import annotations

import random
from itertools import combinations, pairwise

import pytest

from reach.findings import Verdict
from reach.report.world_layout import Arrow, arrows_of, lay_out
from tests.made_worlds import NO, OPEN, YES, judged, made_world

CARD = (200, 150)


def random_arrows(seed, number):
    """Levels and arrows at random: cycles, self-links, arrows there and back, levels without any."""
    chance = random.Random(seed)
    levels = [f"level-{index}" for index in range(number)]
    pairs = {
        (chance.choice(levels), chance.choice(levels), chance.choice([YES, YES, NO, OPEN]))
        for _ in range(chance.randrange(3 * number))
    }
    return levels, [Arrow(*pair, both=pair[0] != pair[1] and chance.random() < 0.2) for pair in sorted(pairs)]


WORLDS = [random_arrows(seed, number) for seed, number in enumerate([1, 2, 3, 5, 8, 12, 12, 20, 30, 40, 45, 90])]


def segments(path):
    """The pieces of a path as (left, top, right, bottom)."""
    return [(min(a, c), min(b, d), max(a, c), max(b, d)) for (a, b), (c, d) in pairwise(path)]


def inside(box, other) -> bool:
    """Whether two boxes share more than an edge; a line has no width."""
    return box[0] < other[2] and other[0] < box[2] and box[1] < other[3] and other[1] < box[3]


@pytest.mark.parametrize(("levels", "arrows"), WORLDS)
@pytest.mark.parametrize("started", [True, False])
def test_no_card_lies_on_another_and_all_lie_on_the_page(levels, arrows, started):
    layout = lay_out(levels, arrows, levels[0] if started else None, CARD)
    assert list(layout.cards) != [] and set(layout.cards) == set(levels)
    for one, other in combinations(layout.cards.values(), 2):
        assert not inside(one, other)
    for left, top, right, bottom in layout.cards.values():
        assert 0 <= left < right <= layout.width and 0 <= top < bottom <= layout.height
        assert (right - left, bottom - top >= CARD[1]) == (CARD[0], True)


@pytest.mark.parametrize(("levels", "arrows"), WORLDS)
def test_every_arrow_runs_from_card_to_card_and_over_none(levels, arrows):
    layout = lay_out(levels, arrows, levels[0], CARD)
    assert list(layout.paths) == arrows
    for arrow, path in layout.paths.items():
        for level, (x, y) in ((arrow.source, path[0]), (arrow.target, path[-1])):
            left, top, right, bottom = layout.cards[level]
            assert x in (left, right) and top < y < bottom
        for piece in segments(path):
            assert piece[0] == piece[2] or piece[1] == piece[3]
            assert piece[0] >= 0 and piece[2] <= layout.width and piece[1] >= 0 and piece[3] <= layout.height
            assert not any(inside(piece, card) for card in layout.cards.values())


@pytest.mark.parametrize(("levels", "arrows"), WORLDS)
def test_arrows_cross_but_never_run_on_or_close_beside_each_other(levels, arrows):
    layout = lay_out(levels, arrows, levels[0], CARD)
    for one, other in combinations(layout.paths.values(), 2):
        for a in segments(one):
            for b in segments(other):
                alike = (a[0] == a[2]) == (b[0] == b[2])
                assert not (alike and inside((a[0] - 3, a[1] - 3, a[2] + 3, a[3] + 3), b)), (one, other)


@pytest.mark.parametrize(("levels", "arrows"), WORLDS)
def test_there_is_room_for_the_head_of_every_arrow(levels, arrows):
    for path in lay_out(levels, arrows, levels[0], CARD).paths.values():
        for (x, _), (other_x, _) in ((path[0], path[1]), (path[-1], path[-2])):
            assert abs(x - other_x) >= 18


@pytest.mark.parametrize(("levels", "arrows"), WORLDS)
def test_distances_are_those_of_a_walk_from_level_to_level(levels, arrows):
    reached, walk, steps = {levels[0]: 0}, [levels[0]], 0
    while walk:
        steps += 1
        ahead = []
        for arrow in arrows:
            for source, target in ((arrow.source, arrow.target), (arrow.target, arrow.source))[: 1 + arrow.both]:
                if arrow.verdict is not Verdict.UNREACHABLE and source in walk and target not in reached:
                    reached[target] = steps
                    ahead.append(target)
        walk = ahead
    assert lay_out(levels, arrows, levels[0], CARD).distance == reached


@pytest.mark.parametrize(("levels", "arrows"), WORLDS)
def test_who_is_nearer_to_the_start_never_stands_further_right_in_a_row_and_the_rest_comes_last(levels, arrows):
    layout = lay_out(levels, arrows, levels[0], CARD)
    for one, other in combinations(layout.cards, 2):
        if layout.cards[one][1] == layout.cards[other][1]:
            near, far = sorted((one, other), key=lambda level: layout.cards[level][0])
            assert layout.distance.get(near, 10**6) <= layout.distance.get(far, 10**6)


def test_twelve_levels_in_a_chain_stand_in_two_rows():
    levels = [f"l{index}" for index in range(12)]
    layout = lay_out(levels, [Arrow(*pair, YES) for pair in pairwise(levels)], "l0", CARD)
    tops = [top for _, top, _, _ in layout.cards.values()]
    assert [tops.count(top) for top in sorted(set(tops))] == [6, 6]
    order = sorted(levels, key=lambda level: (layout.cards[level][1], layout.cards[level][0]))
    assert order == levels
    assert len(layout.paths[Arrow("l2", "l3", YES)]) == 2


def test_the_levels_of_a_folder_stand_in_their_order():
    levels = [f"l{index:02}" for index in range(20)]
    layout = lay_out(levels, [], None, CARD)
    assert sorted(levels, key=lambda level: (layout.cards[level][1], layout.cards[level][0])) == levels
    assert layout.distance == {}


def test_a_card_with_many_arrows_is_taller():
    levels = ["hub", *(f"l{index}" for index in range(40))]
    arrows = [Arrow("hub", level, YES) for level in levels[1:]]
    layout = lay_out(levels, arrows, "hub", CARD)
    assert layout.cards["hub"][3] - layout.cards["hub"][1] > 2 * CARD[1]


ROOMS = {
    "hall": {"a": "exit", "b": "exit", "c": "exit", "d": "exit"},
    "den": {"gate": "entrance", "a": "exit", "b": "exit"},
    "attic": {"a": "exit"},
}


def test_links_of_the_same_levels_and_verdict_are_one_arrow():
    links = {"hall/a": "den/in", "hall/b": "den/gate", "hall/c": "hall/in", "hall/d": "den/in", "den/a": "hall/in"}
    links["den/b"] = "attic/in"
    table = {"hall/in": {"d": NO}, "den/in": {"b": OPEN}, "den/gate": {"b": OPEN}}
    assert arrows_of(judged(made_world(ROOMS, links, "hall/in"), table)) == [
        Arrow("hall", "den", YES, both=True),
        Arrow("hall", "hall", YES),
        Arrow("hall", "den", NO),
        Arrow("den", "attic", OPEN),
    ]


def test_there_and_back_with_different_verdicts_are_two_arrows():
    links = {"hall/a": "den/in", "den/a": "hall/in"}
    table = {"den/in": {"a": NO}}
    arrows = [Arrow("hall", "den", YES), Arrow("den", "hall", NO)]
    assert arrows_of(judged(made_world(ROOMS, links, "hall/in"), table)) == arrows
