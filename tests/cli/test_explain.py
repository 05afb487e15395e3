"""`reach explain`: the rules' manual pages."""

from reach.rules import registry
from reach.rules.registry import HEADINGS
from reach.world.rules import registry as world_registry


def all_rules():
    return (*registry.all_rules(), *world_registry.all_rules())


def test_without_a_rule_every_rule_is_listed_with_its_first_line(run):
    ran = run("explain")
    assert ran.code == 0
    lines = ran.out.splitlines()
    assert [line.split()[0] for line in lines] == [rule.id for rule in all_rules()]
    assert [line.split(maxsplit=1)[1] for line in lines] == [rule.summary for rule in all_rules()]


def test_every_rule_has_its_page_with_all_headings(run):
    assert all_rules()
    for rule in all_rules():
        ran = run("explain", rule.id)
        assert (ran.code, ran.out) == (0, rule.page)
        for heading in HEADINGS:
            assert f"\n{heading}\n{'-' * len(heading)}\n" in ran.out, rule.id


def test_an_unknown_rule_is_a_mistake_that_names_the_rules(run):
    ran = run("explain", "tight-landings")
    assert (ran.code, ran.out) == (2, "")
    assert "tight-landings" in ran.err
    assert "unreachable-goal" in ran.err
