"""The sample levels: the island is clean but for its two mistakes, every finding has a level that shows it."""

import json

import numpy as np
import pytest

import reach
from reach.findings import Severity, Verdict
from reach.level import load_level
from reach.level_sources import load_any_level
from reach.movement import load_movement
from reach.rules.registry import all_rules
from reach.world.rules import registry as world_registry
from tests.checkout import ROOT
from tests.oracle import Body
from tests.oracle_files import compile_case, replay, touched_places

SAMPLES = ROOT / "sample_levels"
ISLAND = sorted(path.stem for path in (SAMPLES / "island").glob("*.json"))
WORLDS = sorted(path.name.partition(".")[0] for path in (SAMPLES / "worlds").glob("*.world.json"))
FINDINGS = sorted(path.stem for path in (SAMPLES / "findings").glob("*.json"))

MISTAKES = {
    "rope_walk": ("unreachable-goal", (69, 8)),
    "cistern": ("softlock", (48, 22)),
}
"""The levels with a mistake in their design, and where it is: a loft one tile too far, a basin one tile too deep."""

FERRYMAN = "undecided"
"""The sample of this finding is made for the ferryman, all others for the lamplighter.

The ferryman's positions are whole sixteenths of a px, and the gap asks him to leave the edge with less than a
sixteenth of him on it: no input can, but a superset that knows no sixteenths has a way.
"""


def movement_of(stem):
    return SAMPLES / "movement" / ("ferryman.json" if stem == FERRYMAN else "lamplighter.json")


def report_on(path):
    return reach.check(load_level(path), load_movement(movement_of(path.stem)))


def test_there_are_enough_levels_and_they_differ():
    levels = [load_level(SAMPLES / "island" / f"{stem}.json") for stem in ISLAND]
    assert len(levels) >= 10
    assert set(MISTAKES) < set(ISLAND)
    assert len({level.name for level in levels}) == len(levels)
    assert len({(level.columns, level.rows) for level in levels}) == len(levels)
    for level in levels:
        assert 60 <= level.columns <= 160, level.name
        assert 15 <= level.rows <= 30, level.name
        assert any(place.ends_level for place in level.places), level.name


def assert_nothing_is_undecided(report):
    assert report.complete
    assert report.tiles[Verdict.UNDECIDED] == ()
    assert [place.id for place in report.places if place.verdict is Verdict.UNDECIDED] == []
    assert [finding for finding in report.findings if finding.rule == "undecided"] == []


def assert_no_errors_but(mistakes, report):
    errors = [f for f in report.findings if f.severity is Severity.ERROR and f.accepted is None]
    assert [(f.rule, f.at) for f in errors] == mistakes


def assert_what_is_accepted_is_found(level, report):
    assert [finding for finding in report.findings if finding.rule == "stale-accept"] == []
    assert [f.accepted for f in report.findings if f.accepted is not None] == [each.reason for each in level.accept]


def assert_scripts_play_in_the_oracle(case, report):
    """Every place said to be reachable is touched in the last tick of its script, as the oracle reads the files."""
    assert set(report.scripts) == {place.id for place in report.places if place.verdict is Verdict.REACHABLE}
    for name, script in report.scripts.items():
        states = replay(case, np.asarray(script.inputs(), np.int64))
        assert name in touched_places(case, Body(*states[-1].tolist())), name


@pytest.mark.parametrize("stem", ISLAND)
def test_a_level_of_the_island_is_decided_and_clean_but_for_the_two_mistakes(stem):
    path = SAMPLES / "island" / f"{stem}.json"
    level, report = load_level(path), report_on(path)
    assert_nothing_is_undecided(report)
    assert_no_errors_but([MISTAKES[stem]] if stem in MISTAKES else [], report)
    assert_what_is_accepted_is_found(level, report)
    assert_scripts_play_in_the_oracle(
        compile_case(*(json.loads(each.read_bytes()) for each in (path, movement_of(stem)))), report
    )


@pytest.mark.parametrize("stem", FINDINGS)
def test_a_level_for_a_finding_shows_it_alone(stem):
    assert {finding.rule for finding in report_on(SAMPLES / "findings" / f"{stem}.json").findings} == {
        stem.replace("_", "-")
    }


def test_every_finding_has_its_level():
    assert sorted(rule.id.replace("-", "_") for rule in all_rules()) == FINDINGS


@pytest.mark.parametrize("stem", WORLDS)
def test_a_world_for_a_finding_shows_it_once_and_alone(stem):
    report = reach.check_world(reach.load_world(SAMPLES / "worlds" / f"{stem}.world.json"))
    assert report.complete
    assert [finding.rule for finding in report.findings] == [stem.replace("_", "-")]
    assert not any(entry.finding.severity is Severity.ERROR for level in report.levels for entry in level.findings)


def test_every_finding_of_a_world_has_its_world():
    assert sorted(rule.id.replace("-", "_") for rule in world_registry.all_rules()) == WORLDS


def test_the_tour_links_all_levels_of_the_island_and_names_where_one_begins():
    tour = reach.load_world(SAMPLES / "island.world.json")
    assert sorted(level.file for level in tour.levels) == [f"island/{stem}.json" for stem in ISLAND]
    exits = {(level.id, place.id) for level in tour.levels for place in level.level.places if place.ends_level}
    assert {link.source for link in tour.links} == exits


@pytest.mark.long
def test_the_tour_has_its_four_mistakes_and_no_other():
    report = reach.check_world(reach.load_world(SAMPLES / "island.world.json"))
    assert report.complete
    of_the_world = [(each.rule, each.level, each.place) for each in report.findings if each.severity is Severity.ERROR]
    assert of_the_world == [
        ("missable-for-good", "harbour-town", "harbour-light"),
        ("unentered-level", "breakwater", None),
    ]
    of_levels = {
        level.id.replace("-", "_"): (entry.finding.rule, entry.finding.at)
        for level in report.levels
        for entry in level.findings
        if entry.finding.severity is Severity.ERROR
    }
    assert of_levels == MISTAKES
    assert report.count(Severity.ERROR) == 4 and report.count(Severity.WARNING) == 0


def test_the_other_forms_of_a_level_say_the_same():
    folder = SAMPLES / "convert"
    read = {
        path.name: load_any_level(path, mapping if mapping.exists() else None, 16, "Jetty")
        for path in sorted(folder.iterdir())
        if path.suffix != ".json"
        for mapping in [path.with_suffix(".mapping.json")]
    }
    assert {name.partition(".")[2] for name in read} == {"csv", "png", "txt"}
    assert len({level.sha256 for level in read.values()}) == 1


def test_the_movement_profiles_are_alike_in_nothing_that_matters():
    """The lamplighter is faster takeoff by takeoff, without help; the courier has one jump and all help there is."""
    lamplighter, courier = (
        load_movement(SAMPLES / "movement" / f"{name}.json").motion for name in ("lamplighter", "courier")
    )
    assert len(lamplighter.jump_from) == 3
    assert (np.diff(lamplighter.jump_launch) > 0).all()
    assert (lamplighter.jump_gravity > lamplighter.jump_gravity_held).all()
    assert lamplighter.run_memory > 0
    assert lamplighter.coyote_ticks == lamplighter.buffer_ticks == 0
    assert min(courier.coyote_ticks, courier.buffer_ticks, courier.drop_through) > 0
    assert courier.cut_speed > 0
