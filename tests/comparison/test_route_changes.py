"""Windows against the threshold from which on they count as tight."""

from dataclasses import replace

import pytest

from reach.comparison.changes import Direction, Kind
from reach.comparison.compare import compare
from tests.comparison.test_compare import one
from tests.made_reports import TIGHT_HOP, make_report


@pytest.mark.parametrize(
    ("before_ms", "after_ms", "direction"),
    [
        (483.3, 450.0, Direction.OTHER),
        (483.3, 60.0, Direction.OTHER),
        (483.3, 50.0, Direction.WORSE),
        (50.0, 33.3, Direction.WORSE),
        (50.0, 483.3, Direction.BETTER),
        (83.3, 100.0, Direction.OTHER),
    ],
)
def test_a_window_narrower_is_worse_only_where_it_is_tight_now(before_ms, after_ms, direction):
    sides = [
        replace(
            one(moves=(*make_report().moves[:2], replace(TIGHT_HOP, window_ms=each)), route=(2,)),
            options=make_report().options,
        )
        for each in (before_ms, after_ms)
    ]
    (change,) = compare(*sides).changes
    assert (change.kind, change.direction) == (Kind.WINDOW, direction)
    assert change.tiles == (TIGHT_HOP.source, TIGHT_HOP.target)
    neither = direction is Direction.OTHER
    assert ("Not tight: none that is narrower is under 60 ms." in change.message) == (neither and after_ms < before_ms)
    mirrored = {Direction.WORSE: Direction.BETTER, Direction.BETTER: Direction.WORSE}
    (undone,) = compare(*sides[::-1]).changes
    assert undone.direction is mirrored.get(direction, direction)
