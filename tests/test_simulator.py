"""Starting and replaying levels and profiles as their files give them."""

from __future__ import annotations

from typing import Any

import pytest

from reach.errors import InputError
from reach.kernels.params import State
from reach.level import Level, level_from_dict
from reach.movement import Movement, movement_from_dict
from reach.script import Script, Step
from reach.simulator import Replay, Row, replay, start_state

PX = 65536


def level_of(*rows: str, **extra: Any) -> Level:
    return level_from_dict({"format": "reach-level/1", "name": "Sluice", "tile_px": 16, "rows": list(rows), **extra})


def movement_of(width: float = 12, height: float = 22, **help_: Any) -> Movement:
    return movement_from_dict(
        {
            "format": "reach-movement/1",
            "name": "keeper",
            "units": "per_tick",
            "tick_rate_hz": 50,
            "body": {"width_px": width, "height_px": height},
            "ground": {
                "walk": {"acceleration": 0.25, "top_speed": 2},
                "coast_deceleration": 0.5,
                "reverse_deceleration": 1,
            },
            "jump": {"bands": [{"launch_speed": 5, "gravity_held": 0.25, "gravity": 0.75}]},
            "fall": {"terminal_speed": 6},
            "air": {"acceleration": 0.125, "reverse_deceleration": 0.25, "top_speed": 2},
            "help": help_,
        }
    )


def script_of(*steps: tuple[int, str], level: str = "Sluice", movement: str = "keeper", start: str = "start") -> Script:
    return Script(level, movement, start, tuple(Step(ticks, tuple(names.split())) for ticks, names in steps))


HALL = level_of("........", "........", ".@....!.", "########")


def test_a_start_is_centred_on_its_tile_at_rest_in_whole_numbers() -> None:
    state = start_state(HALL, movement_of())
    assert state == State((16 + 2) * PX, (48 - 22) * PX, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0, 0)
    assert {type(value) for value in state} == {int}


def test_a_start_of_another_place_is_found_by_its_id() -> None:
    assert start_state(HALL, movement_of(), "start-1") == start_state(HALL, movement_of())
    at_goal = start_state(HALL, movement_of(), "goal-1")
    assert (at_goal.x, at_goal.ended) == ((96 + 2) * PX, 1)


def test_an_unknown_place_is_the_users_mistake() -> None:
    with pytest.raises(InputError, match="attic"):
        start_state(HALL, movement_of(), "attic")


@pytest.mark.parametrize(
    ("rows", "width", "height", "named"),
    [
        (("..#.", ".@..", "####"), 12, 22, []),  # the wall is beside the head
        ((".#..", ".@..", "####"), 12, 22, ["the solid tile at (1, 0)"]),
        ((".#..", ".@..", "####"), 12, 16, []),
        (
            ("^...", "#@^.", "####"),
            18,
            22,
            ["the hazard at (0, 0)", "the solid tile at (0, 1)", "the hazard at (2, 1)"],
        ),
        (("....", "@...", "####"), 18, 22, ["the border at column -1"]),
        (("....", "...@", "####"), 17, 22, ["the border at column 4"]),
        (("....", "...@", "####"), 18, 22, ["the border at column 4"]),
        (("@...",), 16, 40, []),  # above the map there is room
    ],
)
def test_a_start_in_something_is_refused_and_says_in_what(
    rows: tuple[str, ...], width: int, height: int, named: list[str]
) -> None:
    level = level_of(*rows, places=[{"id": "door", "kind": "goal", "at": [3, 0]}])
    movement = movement_of(width, height)
    if not named:
        assert start_state(level, movement).lost == 0
        return
    with pytest.raises(InputError) as caught:
        start_state(level, movement)
    (problem,) = caught.value.problems
    assert problem.file == "<level>"
    assert '"start-1"' in problem.place
    assert f"{width} x {height} px" in problem.found
    assert problem.found.endswith("overlaps " + ", ".join(named))


def test_a_start_on_a_spring_is_named_when_overlapped() -> None:
    level = level_of(
        ".s.", ".@.", "###", symbols={"s": {"material": "spring", "launch_px_per_s": 300}},
        places=[{"id": "door", "kind": "goal", "at": [2, 0]}],
    )  # fmt: skip
    with pytest.raises(InputError, match=r"the spring at \(1, 0\)"):
        start_state(level, movement_of())


def test_a_replay_begins_with_the_start_and_has_one_row_a_tick() -> None:
    played = replay(HALL, movement_of(), script_of((3, "right"), (2, "right jump"), (1, "")))
    x, y = 18 * PX, 26 * PX
    quarter, eighth = PX // 4, PX // 8
    assert played == Replay(
        (
            Row(0, x, y, 0, 0, 1, 0, ("start-1",)),
            Row(1, x + quarter, y, quarter, 0, 1, 0, ("start-1",)),
            Row(2, x + 3 * quarter, y, 2 * quarter, 0, 1, 0, ("start-1",)),
            Row(3, x + 6 * quarter, y, 3 * quarter, 0, 1, 0, ("start-1",)),
            Row(4, x + 10 * quarter, y - 5 * PX, PX, -5 * PX, 0, 0, ("start-1",)),
            Row(5, x + 29 * eighth, y - 39 * quarter, 9 * eighth, -19 * quarter, 0, 0, ("start-1",)),
            Row(6, x + 38 * eighth, y - 55 * quarter, 9 * eighth, -4 * PX, 0, 0, ("start-1",)),
        ),
        (),
    )
    assert {type(value) for row in played.rows for value in row[:-1]} == {int}


def test_an_empty_script_shows_the_start_alone() -> None:
    assert len(replay(HALL, movement_of(), script_of()).rows) == 1


def test_places_are_listed_sorted_for_every_tick_in_which_they_are_touched() -> None:
    level = level_of(
        "....", "@..!", "####",
        places=[{"id": "b", "kind": "pickup", "at": [1, 1]}, {"id": "a", "kind": "checkpoint", "at": [1, 0]}],
    )  # fmt: skip
    rows = replay(level, movement_of(), script_of((30, "right"))).rows
    listed = [row.places for row in rows]
    assert listed[0] == ("start-1",)
    assert ("a", "b", "start-1") in listed
    assert ("a", "b") in listed
    assert listed.index(("a", "b", "start-1")) < listed.index(("a", "b"))
    for row in rows:
        right = row.x_spx + 12 * PX
        assert ("b" in row.places) == (row.x_spx < 32 * PX and right > 16 * PX)


def test_a_replay_ends_with_the_row_in_which_the_body_is_lost() -> None:
    level = level_of("......", "@.....", "##^^^^", places=[{"id": "door", "kind": "goal", "at": [5, 0]}])
    played = replay(level, movement_of(), script_of((100, "right")))
    last = played.rows[-1]
    assert last.lost == 1
    assert last.places == ()
    assert [row.lost for row in played.rows[:-1]] == [0] * last.tick
    assert last.tick < 100
    assert played.warnings == (
        f"the body is lost in tick {last.tick}; the {100 - last.tick} ticks after it are not played",
    )


def test_a_body_lost_in_the_scripts_last_tick_gives_no_warning() -> None:
    level = level_of("......", "@.....", "##^^^^", places=[{"id": "door", "kind": "goal", "at": [5, 0]}])
    ticks = replay(level, movement_of(), script_of((100, "right"))).rows[-1].tick
    played = replay(level, movement_of(), script_of((ticks, "right")))
    assert (played.rows[-1].lost, played.warnings) == (1, ())


def test_after_the_levels_end_the_rows_go_on_unchanged_with_a_warning() -> None:
    played = replay(HALL, movement_of(), script_of((80, "right")))
    first = next(row for row in played.rows if "goal-1" in row.places)
    assert len(played.rows) == 81
    assert {row[1:] for row in played.rows[first.tick :]} == {first[1:]}
    assert played.warnings == (
        f"the level ends in tick {first.tick}; the {80 - first.tick} ticks after it change nothing",
    )
    exact = replay(HALL, movement_of(), script_of((first.tick, "right")))
    assert exact.warnings == ()
    assert exact.rows == played.rows[: first.tick + 1]


def test_a_script_for_another_level_or_movement_replays_with_a_warning() -> None:
    script = script_of((2, "right"), level="Lock", movement="porter")
    played = replay(HALL, movement_of(), script)
    assert played.warnings == (
        'the script is for level "Lock", not "Sluice"',
        'the script is for movement "porter", not "keeper"',
    )
    assert played.rows == replay(HALL, movement_of(), script_of((2, "right"))).rows


def test_a_script_begins_at_the_place_it_names() -> None:
    level = level_of("......", "@....!", "######", places=[{"id": "hatch", "kind": "entrance", "at": [3, 1]}])
    rows = replay(level, movement_of(), script_of((1, ""), start="hatch")).rows
    assert rows[0].x_spx == (48 + 2) * PX
    assert rows[0].places == ("hatch",)
    with pytest.raises(InputError, match="cellar"):
        replay(level, movement_of(), script_of((1, ""), start="cellar"))


def test_a_replay_is_the_same_every_time() -> None:
    script = script_of((7, "right"), (9, "right jump"), (20, "left"), (3, "down"))
    assert replay(HALL, movement_of(), script) == replay(HALL, movement_of(), script)


def test_springs_launch_in_pixels_a_second() -> None:
    level = level_of(
        "......", "......", "@....!", "ss####", symbols={"s": {"material": "spring", "launch_px_per_s": 300}}
    )
    rows = replay(level, movement_of(), script_of((2, ""))).rows
    assert (rows[0].grounded, rows[1].vy_spx, rows[1].y_spx) == (1, -6 * PX, rows[0].y_spx)
    assert rows[2].vy_spx == -6 * PX + 3 * PX // 4
