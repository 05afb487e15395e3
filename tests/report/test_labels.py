"""Labels never cover one another, nor what they must not hide."""

from __future__ import annotations

from itertools import combinations

import numpy as np

from reach.report.labels import LabelPlacer, leader_end


def overlap(one, other) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def test_many_labels_of_one_point_stand_apart_inside_the_sheet():
    placer = LabelPlacer(300, 200, np.zeros((200, 300)), [(140, 90, 160, 110)])
    boxes = [placer.place((30, 18), (150, 100)).box for _ in range(40)]
    assert not any(overlap(one, other) for one, other in combinations(boxes, 2))
    assert not any(overlap(box, (140, 90, 160, 110)) for box in boxes)
    assert all(x1 >= 0 and y1 >= 0 and x2 <= 300 and y2 <= 200 for x1, y1, x2, y2 in boxes)
    assert all((x2 - x1, y2 - y1) == (30, 18) for x1, y1, x2, y2 in boxes)


def test_a_full_sheet_has_no_room():
    placer = LabelPlacer(60, 40, None)
    placed = [placer.place((40, 30), (30, 20)) for _ in range(2)]
    assert placed[0] is not None
    assert placed[1] is None


def test_a_label_larger_than_the_sheet_has_no_room():
    assert LabelPlacer(60, 40, None).place((80, 10), (30, 20)) is None


def test_the_spot_that_hides_less_is_taken():
    busy = np.zeros((200, 200))
    free = LabelPlacer(200, 200, busy).place((30, 18), (100, 100)).box
    busy[free[1] : free[3], free[0] : free[2]] = 1.0
    other = LabelPlacer(200, 200, busy).place((30, 18), (100, 100)).box
    assert busy[other[1] : other[3], other[0] : other[2]].sum() < 0.2 * 30 * 18


def test_a_label_keeps_clear_of_its_point():
    box = LabelPlacer(200, 200, None).place((30, 18), (100, 100), clear=20).box
    end = leader_end(box, (100, 100))
    assert np.hypot(end[0] - 100, end[1] - 100) >= 19


def test_right_on_a_point_only_where_free():
    placer = LabelPlacer(200, 200, None)
    assert placer.place_at((20, 20), (100, 100)).box == (90, 90, 110, 110)
    assert placer.place_at((20, 20), (105, 100)) is None
    assert placer.place_at((20, 20), (4, 100)) is None
