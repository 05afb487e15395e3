"""`reach movement new`: a file that is a profile, a table of goals, and mistakes."""

import pytest

from reach.movement import load_movement
from reach.workshop import design_goals
from reach.workshop.design_goals import OPTIONS

GOALS = ["--jump-tiles", "4", "--ticks-to-apex", "24", "--air-ticks", "42", "--gap-tiles", "7"]


def test_a_profile_is_written_and_goals_are_told(run, here):
    ran = run("movement", "new", "-o", "keeper.json", *GOALS)
    assert (ran.code, ran.err) == (0, "")
    assert "jump height         4 tiles  4.000 tiles (64.00 px)" in ran.out
    movement = load_movement(here / "keeper.json")
    assert movement.name == "keeper"
    assert run("movement", "new", "-o", "other.json", *GOALS, "--name", "keeper").out == ran.out
    assert (here / "other.json").read_bytes() == (here / "keeper.json").read_bytes()


def test_everything_can_be_asked(run, here):
    words = ["--hop-tiles", "1.5", "--ticks-to-top", "20", "--ticks-to-stop", "9", "--terminal-tiles-per-s", "20"]
    words += ["--tile-px", "20", "--tick-rate-hz", "50", "--body-width-px", "13", "--body-height-px", "25.5"]
    ran = run("movement", "new", "-o", "keeper.json", *GOALS, *words)
    assert ran.code == 0
    assert "400.000 px/s (20.00 tiles/s)" in ran.out
    movement = load_movement(here / "keeper.json")
    assert movement.tick_rate_hz == 50
    assert (movement.motion.body_w, movement.motion.body_h) == (13 * 65536, 51 * 32768)


def test_options_are_called_as_messages_call_them(run):
    told = run("movement", "new", "--help").out
    for option in OPTIONS.values():
        assert option in told


def test_the_help_tells_what_is_taken_where_nothing_is_asked(run):
    told = " ".join(run("movement", "new", "--help").out.split())
    for words in (
        f"full jump; else {float(design_goals.DEFAULT_JUMP_TILES)}.",
        f"the apex; else {float(design_goals.DEFAULT_RISE_S) * 1000:.0f} ms of them",
        f"same level; else {1 + design_goals.DEFAULT_FALL_SHARE} of those to the apex",
        f"px/s; else {float(design_goals.DEFAULT_TERMINAL_SHARE)} times that of a landing",
        f"on the level; else {design_goals.DEFAULT_GAP_TILES}.",
        f"full run; else {float(design_goals.DEFAULT_TO_TOP_S) * 1000:.0f} ms of them",
        f"coasting; else {float(design_goals.DEFAULT_TO_STOP_S) * 1000:.0f} ms of them",
        "does not reconcile are refused",
    ):
        assert words in told


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["-o", "keeper.txt"], ".json"),
        ([], "--output"),
        (["-o", "a.json", "--jump-tiles", "nan"], "--jump-tiles"),
        (["-o", "a.json", "--jump-tiles", "-3"], "--jump-tiles"),
        (["-o", "a.json", "--air-ticks", "20", "--ticks-to-apex", "20"], "--air-ticks"),
        (["-o", "a.json", "--terminal-px-per-s", "300", "--terminal-tiles-per-s", "20"], "one of them"),
        (["-o", "a.json", "--name", ""], "name"),
        (["-o", "no/a.json"], "no folder"),
    ],
)
def test_a_mistake_is_one_message_and_nothing_is_written(run, here, words, told):
    ran = run("movement", "new", *words)
    assert (ran.code, ran.out) == (2, "")
    assert told in ran.err
    assert not list(here.iterdir())
