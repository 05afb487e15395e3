from reach.findings import Severity
from reach.rules.unused_ground import find
from tests.checked import checked, found
from tests.made_evidence import evidence


def test_unreachable_tiles_are_one_note_an_area():
    first, second = find(evidence(unreachable=[(5, 2), (6, 2), (0, 4), (1, 4), (2, 4)]))
    assert (first.rule, first.severity, first.at) == ("unused-ground", Severity.NOTE, (5, 2))
    assert first.details == {"tiles": [[5, 2], [6, 2]], "columns": [5, 6], "rows": [2, 2]}
    assert second.at == (0, 4) and "3 standable tiles" in second.message


def test_tiles_that_touch_by_a_corner_are_one_area():
    (finding,) = find(evidence(unreachable=[(3, 1), (2, 2), (1, 3)]))
    assert finding.at == (3, 1) and finding.details["rows"] == [1, 3] and finding.details["columns"] == [1, 3]


def test_reachable_and_undecided_ground_is_not_unused():
    assert find(evidence(undecided=[(5, 2)])) == []


def balcony(row):
    rows = ["............"] * 6 + ["@.........!.", "############"]
    rows[row] = "....==......"
    return rows


def test_a_balcony_above_the_jump_is_unused():
    (finding,) = found(checked(balcony(4)), "unused-ground")
    assert finding.details["tiles"] == [[4, 4], [5, 4]]
    assert found(checked(balcony(5)), "unused-ground") == []
