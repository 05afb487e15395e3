"""What recent checks used is kept, and nothing else."""

from reach.reachability.recent import CHECKS, Recent


def test_what_no_check_used_for_a_while_is_forgotten():
    recent = Recent()
    recent.begin()
    recent.keep("used", 1)
    recent.keep("unused", 2)
    for _ in range(CHECKS):
        recent.begin()
        assert (recent.taken, recent.get("used"), recent.taken) == (0, 1, 1)
    assert recent.get("unused") == 2
    for _ in range(CHECKS):
        recent.begin()
    assert (recent.get("used"), recent.get("unused")) == (1, 2)
    for _ in range(CHECKS + 1):
        recent.begin()
    assert (recent.get("used"), recent.get("unused"), recent.taken) == (None, None, 0)
