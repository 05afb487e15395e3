"""What a finding of a world is said to follow from, in worlds whose ways are known by hand."""

from dataclasses import replace

from reach.findings import Finding, Severity
from reach.world.result import Job
from tests.made_worlds import NO, OPEN, judged, made_world

ORCHARD = {
    "gate": {"door": "exit"},
    "orchard": {"up": "exit"},
    "loft": {"on": "exit"},
    "hive": {"comb": {"kind": "goal", "ends_level": False}},
}
LINKS = {"gate/door": "orchard/in", "orchard/up": "loft/in", "loft/on": "hive/in"}


def told(table=None, rooms=ORCHARD, links=LINKS, must_reach=(), findings=()):
    world = made_world(rooms, links, "gate/in", must_reach)
    report = judged(world, table, findings={Job("orchard", "in"): findings} if findings else {})
    return {(each.rule, each.level): each for each in report.findings}


def test_levels_behind_an_exit_out_of_reach_name_it_and_what_tells_of_it():
    up = Finding("unreachable-goal", Severity.WARNING, (1, 2), "No.", details={"place": "up"})
    found = told({"orchard/in": {"up": NO}}, findings=(up,))
    for level in ("loft", "hive"):
        one = found["unentered-level", level]
        assert one.message == (
            f"Nobody can enter the level '{level}', because 'orchard/up' cannot be reached (see unreachable-goal of "
            "orchard)."
        )
        assert one.follows and one.details["because"] == ["orchard/up"]


def test_the_first_level_that_no_link_leads_to_is_no_consequence_and_those_behind_it_are():
    found = told(links={"gate/door": "orchard/in", "loft/on": "hive/in"})
    assert not found["unentered-level", "loft"].follows
    assert "because no link leads to the level 'loft'." in found["unentered-level", "hive"].message


def test_a_ring_that_nobody_enters_has_no_cause():
    found = told(links={"gate/door": "gate/in", "loft/on": "hive/in", "hive/comb": "loft/in"})
    assert "since only levels that nobody enters lead to it" in found["unentered-level", "loft"].message
    assert not found["unentered-level", "hive"].follows


def test_only_some_causes_are_named():
    rooms = {"gate": dict.fromkeys("abcde", "exit"), "hive": {}}
    links = {f"gate/{name}": "hive/in" for name in "abcde"}
    found = told({"gate/in": dict.fromkeys("abcde", NO)}, rooms, links)
    assert found["unentered-level", "hive"].message.endswith("'gate/c' cannot be reached and 2 more.")


def test_what_hangs_on_a_failed_level_says_to_mend_it_and_counts_as_no_error():
    for rooms, how in (({**ORCHARD, "orchard": None}, "read"), (ORCHARD, "checked")):
        found = told({"orchard/in": None}, rooms, must_reach=("hive/comb",))
        for rule in ("unentered-level", "goal-out-of-reach"):
            one = found[rule, "hive"]
            assert one.message.endswith(f", because the level 'orchard' could not be {how}.")
            assert (one.advice, one.details["because"]) == ("Mend that first.", ["orchard"])
        assert found["goal-out-of-reach", "hive"].severity is Severity.NOTE
        assert found["unentered-level", "hive"].severity is Severity.WARNING


def test_an_exit_left_undecided_is_named_and_the_goal_stays_an_error():
    found = told({"orchard/in": {"up": OPEN}}, must_reach=("hive/comb",))
    one = found["goal-out-of-reach", "hive"]
    assert one.severity is Severity.ERROR
    assert one.message.endswith(", because it is undecided whether 'orchard/up' can be reached.")
    own = told({"hive/in": {"comb": OPEN}}, must_reach=("hive/comb",))["goal-out-of-reach", "hive"]
    assert own.message.endswith("it is undecided whether it can be.") and not own.follows


def test_a_goal_that_something_else_leaves_open_too_stays_an_error():
    rooms = {**ORCHARD, "gate": {"door": "exit", "hatch": "exit"}, "loft": None}
    links = LINKS | {"gate/hatch": "hive/in"}
    for hatch, severity in ((NO, Severity.NOTE), (OPEN, Severity.ERROR)):
        found = told({"gate/in": {"hatch": hatch}}, rooms, links, must_reach=("hive/comb",))
        assert found["goal-out-of-reach", "hive"].severity is severity
    found = told({"hive/in": {"comb": OPEN}}, {**ORCHARD, "loft": None}, must_reach=("hive/comb",))
    assert found["goal-out-of-reach", "hive"].severity is Severity.ERROR


def test_the_nearest_causes_alone_are_named():
    rooms = {**ORCHARD, "loft": {"on": "exit"}, "cave": {"out": "exit"}}
    found = told({"orchard/in": {"up": NO}}, rooms, LINKS | {"cave/out": "orchard/in"})
    assert found["unentered-level", "loft"].details["because"] == ["orchard/up"]
    found = told({"orchard/in": {"up": NO}}, rooms, {**LINKS, "cave/out": "hive/in"})
    assert found["unentered-level", "hive"].details["because"] == ["orchard/up", "cave"]


PORCH = {"gate": {"door": "exit", "hatch": "exit"}, "orchard": {"up": "exit"}, "loft": {"on": "exit"}, "hive": {}}
PORCH["hive"] = {"comb": "goal"}
TRAPPED = {"gate/door": "orchard/in", "gate/hatch": "hive/in", "orchard/up": "loft/in", "loft/on": "gate/in"}


def test_a_trap_names_the_exit_behind_it_that_would_lead_on():
    found = told({"orchard/in": {"up": NO}}, PORCH, TRAPPED)
    one = found["one-way-trap", "gate"]
    assert one.message.endswith("and no way leads back, because 'orchard/up' cannot be reached.") and one.follows


def test_a_trap_names_what_counts_behind_it_and_exits_that_lead_nowhere():
    links = {"gate/door": "orchard/in", "gate/hatch": "hive/in", "loft/on": "gate/in"}
    one = told(rooms=PORCH, links=links)["one-way-trap", "gate"]
    assert one.message.endswith(", because no link leads on from 'orchard/up'.")
    rooms = {**PORCH, "orchard": {"bud": {"kind": "goal", "ends_level": False}}}
    one = told(
        {"orchard/in": {"bud": NO}}, rooms, {"gate/door": "orchard/in", "gate/hatch": "hive/in"}, ("orchard/bud",)
    )["one-way-trap", "gate"]
    assert one.details["because"] == ["orchard/bud"]


def test_an_exit_that_leads_no_further_is_not_to_blame():
    one = told({"orchard/in": {"up": NO}}, PORCH, TRAPPED | {"loft/on": "orchard/in"})["one-way-trap", "gate"]
    assert one.message.endswith("and no way leads back.") and not one.follows


def test_a_goal_says_why_nobody_comes_to_the_other_entrance_of_its_level():
    rooms = {"gate": {"door": "exit", "hatch": "exit"}, "hive": {"top": "entrance", "comb": "goal"}}
    links = {"gate/door": "hive/in", "gate/hatch": "hive/top"}
    one = told({"gate/in": {"hatch": NO}, "hive/in": {"comb": NO}}, rooms, links, ("hive/comb",))
    assert one["goal-out-of-reach", "hive"].message.endswith(
        "from where its level is entered: in. Nobody comes to top of its level, because 'gate/hatch' cannot be reached."
    )


def test_what_follows_comes_last_among_what_is_as_grave():
    world = made_world({**ORCHARD, "attic": {}}, LINKS, "gate/in", ())
    report = judged(replace(world), {"orchard/in": {"up": NO}})
    assert [each.level for each in report.findings] == ["attic", "loft", "hive"]
