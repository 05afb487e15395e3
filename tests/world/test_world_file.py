import json

import pytest

from reach.errors import InputError
from reach.findings import Verdict
from reach.world.world_checker import check_world
from reach.world.world_file import Link, WorldAccept, load_world
from tests.checked import MOVEMENT
from tests.made_worlds import made_world

ROWS = ["......", "......", "D@...!", "######"]


@pytest.fixture
def write(tmp_path):
    """A function that writes a world with two rooms; what is given replaces keys of the world file."""

    def level(name, **values):
        data = {
            "format": "reach-level/1",
            "name": name,
            "tile_px": 16,
            "rows": ROWS,
            "symbols": {"D": {"place": "exit"}},
            "places": [{"id": "gate", "kind": "entrance", "at": [2, 2]}],
        }
        (tmp_path / f"{name}.json").write_text(json.dumps(data | values), encoding="utf-8")

    def write_world(**values):
        level("hall")
        level("attic")
        (tmp_path / "walker.json").write_text(json.dumps(MOVEMENT), encoding="utf-8")
        (tmp_path / "runner.json").write_text(json.dumps(MOVEMENT | {"name": "runner"}), encoding="utf-8")
        data = {
            "format": "reach-world/1",
            "name": "House",
            "movement": "walker.json",
            "levels": [{"id": "hall", "file": "hall.json"}, {"id": "attic", "file": "attic.json"}],
            "links": [
                {"from": "hall/exit-1", "to": "attic/gate", "back": {"from": "attic/exit-1", "to": "hall/start"}}
            ],
            "start": "hall",
        } | values
        path = tmp_path / "house.world.json"
        path.write_text(json.dumps({key: value for key, value in data.items() if value is not None}), encoding="utf-8")
        return path

    return write_world


def problems(path, movement=None):
    with pytest.raises(InputError) as raised:
        load_world(path, movement)
    return [(problem.place.partition(" ")[0], problem.found, problem.allowed) for problem in raised.value.problems]


def test_a_world_is_read_whole(write):
    world = load_world(write(must_reach=["attic/goal-1"]))
    assert (world.name, world.linked, world.start) == ("House", True, ("hall", "start-1"))
    assert [(level.id, level.file, level.level.name, level.movement.name) for level in world.levels] == [
        ("hall", "hall.json", "hall", "tests"),
        ("attic", "attic.json", "attic", "tests"),
    ]
    there, back = world.links
    assert there == Link(("hall", "exit-1"), ("attic", "gate"))
    assert back == Link(("attic", "exit-1"), ("hall", "start-1"))
    assert world.must_reach == (("attic", "goal-1"),)
    assert world.leads_to[("hall", "exit-1")] == ("attic", "gate")


def test_what_must_be_reached_is_every_required_goal_unless_told(write):
    assert load_world(write()).must_reach == (("hall", "goal-1"), ("attic", "goal-1"))
    assert load_world(write(must_reach=[])).must_reach == ()


def test_it_may_begin_at_any_entrance(write):
    assert load_world(write(start="attic/gate")).start == ("attic", "gate")


def test_levels_may_have_a_movement_of_their_own_and_a_caller_may_give_another_for_the_rest(write, tmp_path):
    levels = [{"id": "hall", "file": "hall.json"}, {"id": "attic", "file": "attic.json", "movement": "runner.json"}]
    assert [level.movement.name for level in load_world(write(levels=levels)).levels] == ["tests", "runner"]
    (tmp_path / "other.json").write_text(json.dumps(MOVEMENT | {"name": "other"}), encoding="utf-8")
    for usual in ("walker.json", None):
        world = load_world(write(levels=levels, movement=usual), tmp_path / "other.json")
        assert [level.movement.name for level in world.levels] == ["other", "runner"]


def test_a_movement_in_place_of_the_worlds_own_is_known(write, tmp_path):
    assert load_world(write()).instead_of == ""
    assert load_world(write(), tmp_path / "runner.json").instead_of == "walker.json"
    assert load_world(write(movement=None), tmp_path / "runner.json").instead_of == ""


def test_files_may_stand_in_a_folder_above(write, tmp_path):
    path = write()
    inner = tmp_path / "worlds"
    inner.mkdir()
    data = json.loads(path.read_text(encoding="utf-8"))
    data["movement"] = "../walker.json"
    for level in data["levels"]:
        level["file"] = f"../{level['file']}"
    (inner / "house.json").write_text(json.dumps(data), encoding="utf-8")
    assert all(level.level for level in load_world(inner / "house.json").levels)


def test_every_mistake_is_told_at_once_in_the_order_of_the_file(write):
    levels = [
        {"id": "hall", "file": "hall.json"},
        {"id": "attic", "file": "attic.json"},
        {"id": "hall", "file": "attic.json"},
    ]
    links = [
        {"from": "hal/exit-1", "to": "attic/start"},
        {"from": "hall/exit-2", "to": "attic/cellar"},
        {"from": "hall/gate", "to": "attic/exit-1"},
        {"from": "hall/exit-1", "to": "attic/start"},
        {"from": "hall/exit-1", "to": "hall/start", "back": {"from": "attic/exit-1", "to": "attic/start"}},
    ]
    found = problems(write(levels=levels, links=links, must_reach=["hall/start", "attic/goal-1", "attic/goal-1"]))
    assert [place for place, _, _ in found] == [
        "$.levels[2].id",
        "$.links[0].from",
        "$.links[1].from",
        "$.links[1].to",
        "$.links[2].from",
        "$.links[2].to",
        "$.links[4].from",
        "$.links[4].back.from",
        "$.links[4].back.to",
        "$.must_reach[0]",
        "$.must_reach[2]",
    ]
    words = {place: (what, allowed) for place, what, allowed in found}
    assert words["$.levels[2].id"] == ('the id "hall" again', "each id once")
    assert 'did you mean "hall"?' in words["$.links[0].from"][1]
    assert words["$.links[1].to"][0] == 'the unknown place "attic/cellar"'
    assert words["$.links[2].from"] == (
        '"hall/gate", of the kind entrance, which does not end its level',
        "a place that ends the level: exit-1, goal-1",
    )
    assert words["$.links[4].from"] == (
        'a second link from "hall/exit-1"',
        'one link from it, and it has one to "attic/start"',
    )


def test_a_link_may_lead_to_its_own_level(write):
    (link,) = load_world(write(links=[{"from": "hall/exit-1", "to": "hall/gate"}])).links
    assert link == Link(("hall", "exit-1"), ("hall", "gate"))


def test_findings_are_accepted_by_rule_level_or_place(write):
    entries = [
        {"rule": "loose-exit", "reason": "Later."},
        {"rule": "loose-exit", "at": "hall", "reason": "Later."},
        {"rule": "loose-exit", "at": "attic/start", "reason": "Later."},
    ]
    assert load_world(write(accept=entries)).accept == (
        WorldAccept("loose-exit", None, None, "Later."),
        WorldAccept("loose-exit", "hall", None, "Later."),
        WorldAccept("loose-exit", "attic", "start-1", "Later."),
    )
    entries = [{"rule": "loose-exit", "at": at, "reason": "Later."} for at in ("cellar", "hall/cellar")]
    assert [place for place, _, _ in problems(write(accept=entries))] == ["$.accept[0].at", "$.accept[1].at"]


def test_what_a_world_cannot_accept_is_refused_with_where_it_belongs(write):
    entries = [{"rule": rule, "reason": "Later."} for rule in ("loose-exits", "softlock", "stale-accept")]
    (typo, of_level, stale) = problems(write(accept=entries))
    assert typo[:2] == ("$.accept[0].rule", 'the unknown rule "loose-exits"')
    assert typo[2].endswith('; did you mean "loose-exit"?')
    assert of_level[2].endswith("; softlock is accepted in the level's own file")
    assert stale[1] == 'the unknown rule "stale-accept"'


def test_a_link_to_a_level_alone_and_from_an_unknown_exit_say_what_there_is(write):
    links = [{"from": "hall/exit-1", "to": "attic", "back": {"from": "attic/exit-1", "to": "hall"}}]
    assert [allowed.partition("; ")[2] for _, _, allowed in problems(write(links=links))] == [
        'did you mean "attic/start"?',
        'did you mean "hall/start"?',
    ]
    ((_, _, allowed),) = problems(write(links=[{"from": "hall/exit-2", "to": "attic/start"}]))
    assert allowed == 'a place that ends the level: exit-1, goal-1; did you mean "exit-1"?'


@pytest.mark.parametrize("start", ["cellar", "hall/cellar", "hall/exit-1"])
def test_the_start_must_be_a_place_at_which_play_goes_on(write, start):
    assert [place for place, _, _ in problems(write(start=start))] == ["$.start"]


def test_a_level_that_is_missing_or_broken_is_kept_and_what_names_its_places_is_believed(write, tmp_path):
    levels = [{"id": "hall", "file": "hall.json"}, {"id": "attic", "file": "lost.json"}]
    world = load_world(write(levels=levels, must_reach=["attic/lamp"]))
    assert [bool(level.level) for level in world.levels] == [True, False]
    assert world.levels[1].why == (
        "lost.json: found no such file; allowed: a file that can be read, since house.world.json names it"
    )
    assert world.place_ids("attic") == ("exit-1", "gate", "lamp")
    assert world.place(("attic", "lamp")) is None
    assert world.links[0].target == ("attic", "gate")
    assert world.levels[0].level.origin == "hall.json"
    (tmp_path / "lost.json").write_text('{"format": "reach-level/1"}', encoding="utf-8")
    why = load_world(write(levels=levels)).levels[1].why
    assert why.startswith("lost.json: $") and "; lost.json: $" in why and str(tmp_path) not in why


def test_a_movement_that_is_missing_or_broken_is_a_mistake_told_once(write, tmp_path):
    found = problems(write(movement="lost.json"))
    assert [what for _, what, _ in found] == ["no such file"]
    assert found[0][2].endswith(", since house.world.json names it")
    assert "since" not in problems(write(), tmp_path / "lost.json")[0][2]
    found = problems(write(movement=None))
    assert [(place, what) for place, what, _ in found] == [
        ("$.levels[0]", "no movement"),
        ("$.levels[1]", "no movement"),
    ]


@pytest.mark.parametrize("file", ["/hall.json", "a\\hall.json", ""])
def test_a_file_is_named_by_its_way_from_the_world_file(write, file):
    (found,) = problems(write(levels=[{"id": "hall", "file": file}, {"id": "attic", "file": "attic.json"}]))
    assert found[0] == "$.levels[0].file"


def test_what_a_check_complains_of_names_files_as_the_world_does(write, tmp_path):
    movement = json.loads(json.dumps(MOVEMENT))
    movement["body"]["width_px"] = 200
    path = write()
    (tmp_path / "walker.json").write_text(json.dumps(movement), encoding="utf-8")
    for level in check_world(load_world(path)).levels:
        (outcome,) = level.outcomes
        assert outcome.why.startswith("walker.json: $.body.width_px: found 200;"), outcome.why
        assert outcome.why.endswith(f" in {level.file}") and str(tmp_path) not in outcome.why


def test_what_breaks_the_schema_is_told_first(write):
    found = problems(write(start="Hall", levls=[], links=[{"from": "hall", "to": "attic/gate"}]))
    assert {place for place, _, _ in found} == {"$.start", "$.levls", "$.links[0].from"}


def test_a_place_is_looked_up_by_its_level():
    world = made_world({"hall": {"door": "exit"}}, {}, "hall/in")
    assert world.place(("hall", "door")).kind == "exit"
    assert world.place_ids("hall") == ("in", "door")


def test_a_world_from_files_is_checked_over_both_ways_of_a_link(write):
    report = check_world(load_world(write()))
    assert [(level.id, level.verdict, len(level.outcomes)) for level in report.levels] == [
        ("hall", Verdict.REACHABLE, 1),
        ("attic", Verdict.REACHABLE, 1),
    ]
    assert [link.verdict for link in report.links] == [Verdict.REACHABLE] * 2
    assert report.findings == ()
