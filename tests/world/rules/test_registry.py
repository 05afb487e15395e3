import pkgutil
from dataclasses import replace
from itertools import pairwise

import pytest

import reach.world.rules
from reach.findings import Severity
from reach.rules import registry as level_registry
from reach.world.rules import registry
from reach.world.world_file import WorldAccept
from tests.made_worlds import found, judged, made_world

IDS = ["goal-out-of-reach", "loose-exit", "missable-for-good", "one-way-trap", "unentered-level"]


def test_every_module_but_the_registry_is_a_rule():
    modules = {module.name for module in pkgutil.iter_modules(reach.world.rules.__path__)} - {"registry"}
    assert [each.id for each in registry.all_rules()] == sorted(name.replace("_", "-") for name in modules) == IDS


def test_no_rule_of_a_world_has_the_name_of_one_of_a_level():
    assert not set(IDS) & {each.id for each in level_registry.all_rules()}


@pytest.mark.parametrize("each", registry.all_rules(), ids=lambda each: each.id)
def test_every_rule_has_a_manual_page_with_the_fixed_headings(each):
    lines = each.page.splitlines()
    headings = [above for above, below in pairwise(lines) if below and set(below) == {"-"}]
    assert tuple(headings) == level_registry.HEADINGS
    assert all(len(above) == len(below) for above, below in pairwise(lines) if below and set(below) == {"-"})
    assert each.summary == lines[0] and each.summary.endswith(".")


def test_findings_come_by_severity_then_rule_then_level_in_the_worlds_order():
    rooms = {"z": {"door": "exit", "gap": "exit"}, "y": {}, "b": {"lamp": "goal"}, "a": {}}
    world = made_world(rooms, {"z/door": "z/in"}, "z/in", ("b/lamp",))
    assert [(each.severity.value, each.rule, each.level) for each in judged(world).findings] == [
        ("error", "unentered-level", "y"),
        ("error", "unentered-level", "b"),
        ("error", "unentered-level", "a"),
        ("warning", "loose-exit", "z"),
        ("note", "goal-out-of-reach", "b"),
    ]


def test_nothing_is_found_about_a_folder():
    assert judged(made_world({"a": {"door": "exit"}, "b": {"lamp": "goal"}}, {}, None)).findings == ()


def accepting(*entries, table=None):
    rooms = {"hall": {"a": "exit", "b": "exit"}, "den": {}, "attic": {}}
    world = made_world(rooms, {}, "hall/in")
    return judged(replace(world, accept=tuple(WorldAccept(*entry, "It is meant.") for entry in entries)), table)


def test_an_accepted_finding_keeps_its_severity_gets_the_reason_and_is_not_counted():
    report = accepting(("unentered-level", "den", None), ("loose-exit", "hall", "b"))
    accepted = [(each.rule, each.level, each.place) for each in report.findings if each.accepted == "It is meant."]
    assert accepted == [("unentered-level", "den", None), ("loose-exit", "hall", "b")]
    assert (report.count(Severity.ERROR), report.count(Severity.WARNING), report.count(Severity.NOTE)) == (1, 1, 0)
    assert report.count_of("den", Severity.ERROR) == 0


def test_an_entry_may_mean_all_of_a_rule_or_all_about_a_level():
    assert accepting(("unentered-level", None, None)).count(Severity.ERROR) == 0
    assert accepting(("loose-exit", "hall", None)).count(Severity.WARNING) == 0
    assert accepting(("loose-exit", "den", None)).count(Severity.WARNING) == 2


def test_an_entry_that_means_nothing_is_a_note_unless_something_was_left_undone():
    report = accepting(("one-way-trap", "hall", "a"))
    assert found(report, "stale-accept") == [("note", "hall", "a")]
    assert "'one-way-trap' about 'hall/a' that is not found" in report.findings[-1].message
    assert found(accepting(("one-way-trap", "hall", "a"), table={"hall/in": None}), "stale-accept") == []
