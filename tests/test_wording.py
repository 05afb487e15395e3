import pytest

from reach.findings import Move, MoveKind
from reach.reachability.result import Foothold
from reach.wording import count_words, foothold_words, list_words, move_words, number_words, tile_words


def test_tiles_and_footholds_are_told_by_column_and_row():
    assert tile_words((6, 1)) == "tile 6,1"
    assert foothold_words(Foothold(0, 9, 0, 0, False, (3, 7))) == "the foothold on row 9, columns 3 to 7"
    assert foothold_words(Foothold(0, 9, 0, 0, True, (3, 3))) == "the spring on row 9, column 3"


def test_moves_are_told_by_kind():
    assert move_words(Move((3, 9), (7, 8), MoveKind.WALK_OFF, 4)) == "the walk-off from tile 3,9 to tile 7,8"


@pytest.mark.parametrize(
    ("value", "words"), [(5.0, "5"), (5.25, "5.2"), (0.04, "0"), (-0.04, "0"), (100.0, "100"), (10.5, "10.5")]
)
def test_numbers_have_no_trailing_zeros(value, words):
    assert number_words(value) == words


def test_one_is_singular():
    assert (count_words(1, "tick"), count_words(0, "tick"), count_words(2, "tick")) == ("1 tick", "0 ticks", "2 ticks")


def test_lists_end_with_and():
    assert [list_words(words) for words in ([], ["a"], ["a", "b"], ["a", "b", "c"])] == [
        "",
        "a",
        "a and b",
        "a, b and c",
    ]
