"""Which levels are checked when some have changed, and from where. What git says is made up here."""

from dataclasses import replace

import pytest

from reach.errors import InputError
from reach.world.changed_levels import Chosen, changed_levels, jobs_of
from reach.world.result import Job
from tests.made_worlds import made_world

ROOMS = {name: {"gate": "entrance", "out": "exit", "back": "exit"} for name in ("quay", "hall", "den", "attic", "loft")}
LINKS = {"quay/out": "hall/gate", "hall/out": "den/in", "den/out": "attic/gate", "attic/back": "den/gate"}


@pytest.fixture
def choose(monkeypatch):
    """A function that chooses levels of the made world, told what has changed."""

    def choosing(*changed, links=LINKS, start="quay/in", **values):
        world = made_world(ROOMS, links, start)
        levels = [replace(each, made_from=(f"{each.id}.json", "walker.json")) for each in world.levels]
        world = replace(world, levels=tuple(levels))
        files = {"made.world.json", "reach.toml", "walker.json", *(each.made_from[0] for each in levels)}
        monkeypatch.setattr("reach.world.changed_levels.unchanged_since", lambda *asked: files - set(changed))
        return changed_levels(world, "made.world.json", "main", **values)

    return choosing


def test_levels_that_changed_and_those_linked_to_them_either_way_are_chosen(choose):
    assert choose("hall.json") == Chosen("main", {"quay", "hall", "den"})
    assert choose("quay.json") == Chosen("main", {"quay", "hall"})
    assert choose("loft.json") == Chosen("main", {"loft"})
    assert choose() == Chosen("main", set())
    assert choose("hall.json", links={}, start=None) == Chosen("main", {"hall"})


def test_a_movement_the_world_file_or_the_settings_change_everything(choose):
    assert choose("walker.json") == "every level has changed since main, or is linked to one that has"
    told = " has changed since main, or git does not know it"
    assert choose("made.world.json") == f"made.world.json{told}"
    assert choose("reach.toml", settings_file="reach.toml") == f"reach.toml{told}"
    assert choose("made.world.json", links={}, start=None) == Chosen("main", set()), "of a folder there is no such file"


def test_before_the_first_commit_everything_is_checked(monkeypatch):
    monkeypatch.setattr("reach.world.changed_levels.unchanged_since", lambda *asked: None)
    assert changed_levels(made_world(ROOMS, LINKS, "quay/in"), "made.world.json", "HEAD") == "no commit yet"


def test_a_world_from_standard_input_is_refused():
    with pytest.raises(InputError, match="a world from standard input"):
        changed_levels(made_world(ROOMS, LINKS, "quay/in"), "-", "main")


def test_every_place_at_which_a_player_could_enter_is_checked():
    world = made_world(ROOMS, LINKS, "quay/in")
    assert set(jobs_of(world, Chosen("main", {"quay", "den", "loft"}))) == {
        Job("quay", "in"),
        Job("den", "in"),
        Job("den", "gate"),
        Job("loft", "in"),
    }
