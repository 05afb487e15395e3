import json
from dataclasses import replace

import numpy as np
import pytest

from reach import measures
from reach.checker import CheckOptions, check, prove
from reach.errors import InputError
from reach.findings import MoveKind, Severity, Verdict
from reach.movement import movement_from_dict
from reach.reachability.problem import Problem
from reach.report.json_report import to_dict
from reach.simulator import replay
from tests.checked import MOVEMENT, checked, found, level, movement

STEP = [
    "............",
    "............",
    "............",
    "..+.......!.",
    "......######",
    "@.....######",
    "############",
]
PIT = [
    "............",
    "............",
    "............",
    "@.........!.",
    "####....####",
    "####....####",
    "####....####",
    "####....####",
    "############",
]
WALL = [
    "............",
    "..........!.",
    ".......#####",
    ".......#####",
    "@......#####",
    "############",
]


def test_every_reachable_place_has_a_script_that_replays_to_it():
    report = checked(PIT)
    assert {place.id: place.verdict for place in report.places} == {
        "start-1": Verdict.REACHABLE,
        "goal-1": Verdict.REACHABLE,
    }
    for place in report.places:
        script = report.scripts[place.id]
        rows = replay(level(PIT), movement(), script).rows
        assert script.ticks == place.ticks == len(rows) - 1
        assert place.id in rows[-1].places
        assert all(place.id not in row.places for row in rows[:-1])


def test_what_is_proved_unreachable_is_said_to_be_so():
    report = checked(WALL)
    assert [place.verdict for place in report.places if place.id == "goal-1"] == [Verdict.UNREACHABLE]
    assert report.tiles[Verdict.UNREACHABLE] == ((7, 2), (8, 2), (9, 2), (10, 2), (11, 2))
    assert "goal-1" not in report.scripts
    assert report.complete and report.route == () and report.route_to is None


def test_every_standable_tile_has_one_verdict_in_reading_order():
    report = checked(PIT)
    tiles = [tile for each in Verdict for tile in report.tiles[each]]
    assert len(set(tiles)) == len(tiles) == 12
    assert report.tiles[Verdict.REACHABLE] == tuple(sorted(report.tiles[Verdict.REACHABLE], key=lambda t: (t[1], t[0])))
    assert report.tiles[Verdict.UNDECIDED] == ()


def test_the_route_leads_from_the_start_to_the_ending():
    report = checked(STEP)
    assert report.route_to == "goal-1"
    moves = [report.moves[index] for index in report.route]
    assert [(move.kind, move.source[1], move.target[1]) for move in moves] == [(MoveKind.JUMP, 6, 4)]
    assert moves[0].window_ticks >= 6 and not moves[0].needs_speed
    feet = moves[0].arc_px
    assert feet[0][1] == 6 * 16 and feet[-1][1] == 4 * 16
    assert min(y for _, y in feet) < 4 * 16


def test_a_press_that_waits_in_the_buffer_is_no_rest_to_start_from():
    # Held in its first tick a jump from the ledge hits the hazards. A press buffered before the landing and let go in
    # time makes a lower one that gets to the ending - but whoever has come to rest on the ledge has none waiting.
    ledge = ["...........", "...^^^^^^^^", "...#....!..", "....@..=...", "######...##"]
    small = movement_from_dict(
        {
            "format": "reach-movement/1",
            "name": "small",
            "units": "per_tick",
            "body": {"width_px": 2, "height_px": 4},
            "ground": {
                "walk": {"acceleration": 1, "top_speed": 3},
                "coast_deceleration": 1,
                "reverse_deceleration": 2,
            },
            "jump": {
                "bands": [{"from_takeoff_speed": 0, "launch_speed": 5, "gravity_held": 1, "gravity": 1}],
                "on_release": {"cut_speed": 1},
            },
            "fall": {"terminal_speed": 4},
            "air": {"acceleration": 1, "reverse_deceleration": 1, "top_speed": 3},
            "help": {"buffer_ticks": 1},
        }
    )
    report = check(level(ledge, tile_px=4), small)
    assert "goal-1" in report.scripts
    stuck = [finding for finding in report.findings if finding.rule in ("undecided", "forced-loss", "softlock")]
    assert [finding.at for finding in stuck] == [(9, 4)]


def test_a_walk_into_the_ending_is_no_move():
    report = checked(["......", "......", "@...!.", "######"])
    assert (report.route, report.route_to, report.findings) == ((), "goal-1", ())


def test_the_easiest_route_walks_off_rather_than_to_jump_right_into_the_ending():
    drop = [*PIT[:3], "@...........", *["#####......."] * 4, "#####....!..", "############"]
    report = checked(drop)
    assert [report.moves[index].kind for index in report.route] == [MoveKind.WALK_OFF]


def test_nothing_but_the_start_is_decided_without_time():
    report = checked(PIT, CheckOptions(time_limit_s=1e-9))
    assert not report.complete and "time limit" in report.incomplete_why
    assert report.tiles[Verdict.UNREACHABLE] == ()
    verdicts = {place.id: place.verdict for place in report.places}
    assert verdicts["goal-1"] is Verdict.UNDECIDED and verdicts["start-1"] is Verdict.REACHABLE
    assert any(each.severity is Severity.ERROR for each in found(report, "undecided"))
    assert found(report, "softlock") == found(report, "unreachable-goal") == []


@pytest.mark.parametrize("hindrance", ["time limit", "memory limit"])
def test_a_limit_hit_only_while_asking_where_a_player_gets_stuck_makes_the_report_incomplete(monkeypatch, hindrance):
    explore_from = Problem.explore_from

    def cut_short(problem, foothold, seen, **options):
        return replace(explore_from(problem, foothold, seen, **options), complete=False, why=hindrance)

    monkeypatch.setattr(Problem, "explore_from", cut_short)
    report = check(level(PIT), movement(), CheckOptions(time_limit_s=600, memory_limit_mib=512))
    assert not report.complete and hindrance in report.incomplete_why
    assert found(report, "softlock") == [] and len(found(report, "undecided")) == 2


def test_moves_that_time_did_not_suffice_for_are_never_tight(monkeypatch):
    """The jump over the pit is under this threshold; time ends when everything but the windows is done."""
    assert found(checked(PIT, CheckOptions(window_threshold_ms=400.0)), "tight-landing")
    monkeypatch.setattr(measures, "_windows", lambda problem, samples: (None for _ in samples))
    report = check(level(PIT), movement(), CheckOptions(window_threshold_ms=400.0, time_limit_s=600.0))
    assert report.moves and report.route and found(report, "tight-landing") == []
    (note,) = found(report, "undecided")
    assert "time limit of 600 s was reached while measuring moves" in note.message
    for move in to_dict(report)["moves"]:
        figures = ("window_ticks", "window_ms", "chance", "landing_room_px")
        assert [move[key] for key in figures] == [None] * 4 and not move["window_open"] and not move["passing_only"]


def test_a_check_says_the_same_twice():
    first = check(level(PIT), movement())
    again = check(level(PIT), movement())
    assert json.dumps(to_dict(first)) == json.dumps(to_dict(again))
    assert first.scripts == again.scripts and (first.coverage == again.coverage).all()


def test_the_coverage_is_where_the_body_can_be():
    report = checked(WALL)
    assert report.coverage.shape == (6 * 8, 12 * 8) and report.coverage.dtype == np.bool_
    assert report.coverage[4 * 8, 0] and not report.coverage[:, 7 * 8 :].any()


def test_progress_is_told_in_parts_of_the_whole():
    told = []
    check(level(STEP), movement(), progress=lambda stage, done: told.append((stage, done)))
    assert {stage for stage, _ in told} >= {"exploring every input", "finding scripts", "measuring moves"}
    assert all(done is None or 0 <= done <= 1 for _, done in told)


def test_a_check_begins_where_it_is_told():
    rows = [*WALL[:4], "@......#####", "############"]
    two = level(rows, places=[{"id": "attic", "kind": "entrance", "at": [8, 1]}])
    report = check(two, movement(), CheckOptions(from_place="attic"))
    verdicts = {place.id: place.verdict for place in report.places}
    assert verdicts["goal-1"] is Verdict.REACHABLE
    assert report.from_place == "attic" and report.scripts["goal-1"].from_place == "attic"
    assert replay(two, movement(), report.scripts["goal-1"]).rows[-1].places == ("goal-1",)


def test_an_unknown_place_to_begin_at_is_the_users_mistake():
    with pytest.raises(InputError, match="cellar"):
        check(level(STEP), movement(), CheckOptions(from_place="cellar"))


def test_a_start_that_touches_the_ending_ends_at_once():
    wide = movement_from_dict(MOVEMENT | {"body": {"width_px": 20, "height_px": 20}})
    report = check(level([".....", ".....", ".@!..", "#####"]), wide)
    verdicts = {place.id: (place.verdict, place.ticks) for place in report.places}
    assert verdicts == {"start-1": (Verdict.REACHABLE, 0), "goal-1": (Verdict.REACHABLE, 0)}


def test_a_start_in_mid_air_is_checked_too():
    report = checked(["@...........", *["............"] * 3, "##.........!", "############"])
    assert {place.verdict for place in report.places} == {Verdict.REACHABLE}
    assert report.tiles[Verdict.UNREACHABLE] == () and found(report, "softlock") == []


def test_a_script_into_a_spring_pit_is_followed_through_the_spring():
    rows = [*PIT[:8], "####SSSS####"]
    strong = checked(rows, symbols={"S": {"material": "spring", "launch_px_per_s": 520}})
    assert found(strong, "softlock") == []
    assert MoveKind.SPRING in {move.kind for move in strong.moves} and strong.route_to == "goal-1"


@pytest.mark.parametrize("target", ["goal-1", (8, 4)])
def test_proving_a_reachable_target_gives_its_script(target):
    proof = prove(level(PIT), movement(), target)
    assert proof.verdict is Verdict.REACHABLE
    rows = replay(level(PIT), movement(), proof.script).rows
    if isinstance(target, str):
        assert target in rows[-1].places
    else:
        last = rows[-1]
        tile = 16 * 65536
        assert last.grounded and last.y_spx + 20 * 65536 == target[1] * tile
        assert last.x_spx < (target[0] + 1) * tile and last.x_spx + 12 * 65536 > target[0] * tile


@pytest.mark.parametrize("target", ["goal-1", (9, 2)])
def test_proving_an_unreachable_target_gives_no_script(target):
    proof = prove(level(WALL), movement(), target)
    assert (proof.verdict, proof.script) == (Verdict.UNREACHABLE, None)
    assert "every state" in proof.why


def test_proving_without_time_leaves_it_undecided():
    proof = prove(level(WALL), movement(), "goal-1", CheckOptions(time_limit_s=1e-9))
    assert (proof.verdict, proof.script) == (Verdict.UNDECIDED, None)
    assert "time limit" in proof.why


@pytest.mark.parametrize("tile", [(0, 0), (3, 4), (40, 2), (-1, -1), (9, 3)])
def test_a_tile_that_nobody_can_stand_on_is_the_users_mistake(tile):
    with pytest.raises(InputError, match=r"nobody can stand on.*the nearest is \d+,\d+"):
        prove(level(WALL), movement(), tile)


def test_an_unknown_place_is_the_users_mistake():
    with pytest.raises(InputError, match="belfry"):
        prove(level(WALL), movement(), "belfry")


def test_a_body_that_does_not_fit_at_the_start_is_the_users_mistake():
    tall = movement_from_dict(MOVEMENT | {"body": {"width_px": 12, "height_px": 40}})
    with pytest.raises(InputError, match="start"):
        check(level(["####", "#@.#", "####"]), tall)


def test_a_threshold_of_more_ticks_than_are_flown_is_the_users_mistake():
    fast = movement_from_dict(MOVEMENT | {"tick_rate_hz": 1000})
    with pytest.raises(InputError, match="found 251; allowed: at most 250: 250 ticks at 1000 ticks a second"):
        check(level(WALL), fast, CheckOptions(window_threshold_ms=251))
