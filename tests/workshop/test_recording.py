"""Recordings: what is read, and what is refused with which message."""

from fractions import Fraction

import pytest

from reach.errors import InputError
from reach.workshop import recording
from reach.workshop.recording import load_recording

GOOD = "tick,x_px,y_px,right\n0,10,5,0\n1,11.5,5,1\n2,13,5,1\n"


@pytest.fixture
def load(tmp_path):
    def read(text, **options):
        file = tmp_path / "walk.csv"
        file.write_bytes(text if isinstance(text, bytes) else text.encode())
        return load_recording(file, **options)

    return read


@pytest.fixture
def refuse(load):
    def read(text, **options):
        with pytest.raises(InputError) as caught:
            load(text, **options)
        return [(problem.place, problem.found, problem.allowed) for problem in caught.value.problems]

    return read


def rows(*lines, header="tick,x_px,y_px,right"):
    return "\n".join((header, *lines)) + "\n"


def test_columns_in_any_order_and_buttons_that_are_not_there_are_up(load):
    made = load('jump,right,left,y_px,x_px,tick\r\n0,0,0,"7",1.5,4\r\n1,1,0,7,2.5,5\r\n1,1,1,7,2.5,9\r\n')
    (take,) = made.takes
    assert take.ticks.tolist() == [4, 5, 9]
    assert take.x_spx.tolist() == [98304, 163840, 163840]
    assert take.y_spx.tolist() == [7 * 65536] * 3
    assert take.inputs.tolist() == [[0, 0, 0, 0], [1, 0, 0, 1], [0, 0, 0, 1]]
    assert made.buttons == ("left", "right", "jump")
    assert (made.rows, made.tick_rate_hz) == (3, None)


def test_y_can_grow_upward(load):
    assert load(GOOD, y_up=True).takes[0].y_spx.tolist() == [-5 * 65536] * 3


def test_takes_are_pieces_with_their_own_ticks(load):
    header = "take,tick,x_px,y_px,right"
    made = load(rows("a,9,1,1,0", "a,10,1,1,0", "a,12,1,1,0", "b,1,5,1,0", "b,2,5,1,0", "b,3,5,1,0", header=header))
    assert [(take.name, take.ticks.tolist(), take.first_line) for take in made.takes] == [
        ("a", [9, 10, 12], 2),
        ("b", [1, 2, 3], 5),
    ]


def test_times_fall_on_ticks(load):
    text = rows("3.20,1,1,0", "3.22,2,1,1", "3.23,3,1,1", "3.30,3,1,1", header="time_s,x_px,y_px,right")
    made = load(text)
    assert made.takes[0].ticks.tolist() == [0, 1, 2, 6]
    assert made.tick_rate_hz == 60
    assert load(text.replace("3.23", "3.24"), tick_rate_hz=50).takes[0].ticks.tolist() == [0, 1, 2, 5]


def test_times_between_ticks_are_refused(refuse):
    text = rows("0,1,1,0", "0.025,2,1,1", "0.05,3,1,1", header="time_s,x_px,y_px,right")
    ((place, found, allowed),) = refuse(text)
    assert place == "line 3, column time_s"
    assert "1.50 ticks" in found
    assert "60 Hz" in allowed


@pytest.mark.parametrize("hz", [50, 60])
@pytest.mark.parametrize("decimals", [3, 6])
def test_rows_at_another_rate_are_told_once(tmp_path, hz, decimals):
    listed = [f"{tick / hz:.{decimals}f},{tick},0,1" for tick in range(90)]
    del listed[40]
    text = rows(*listed, header="time_s,x_px,y_px,right")
    (tmp_path / "rate.csv").write_text(text, encoding="utf-8")
    assert load_recording(tmp_path / "rate.csv", tick_rate_hz=hz).rows == 89
    with pytest.raises(InputError) as told:
        load_recording(tmp_path / "rate.csv", tick_rate_hz=110 - hz)
    (problem,) = told.value.problems
    assert problem.found == f"rows {1 / hz:.4g} s apart, which is {hz} a second"
    assert f"at {110 - hz} ticks a second" in problem.allowed


def test_steady_positions_of_a_coarse_grid_are_exact(load):
    made = load(rows(*(f"{t},{t * (t + 1) / 32},0,1" for t in range(9))))
    assert made.exact
    assert "1/16 px" in made.rounding_said


def test_flickering_positions_are_rounded(load):
    made = load(rows(*(f"{t},{round(0.7 * t * (t + 1))},0,1" for t in range(12))))
    assert made.rounding_px == 1
    assert made.takes[0].x_spx.dtype == "int64"


def test_positions_off_the_subpixel_grid(load):
    tenth = load(rows(*(f"{t},{0.77 * t * (t + 1):.1f},0,1" for t in range(12))))
    assert tenth.rounding_px == Fraction(1, 10)
    assert tenth.takes[0].x_spx.dtype == "float64"
    noise = load(rows(*(f"{t},{1.3**t!r},0,1" for t in range(12))))
    assert noise.rounding_px == Fraction(1, 65536)
    assert "floating-point" in noise.rounding_said


def test_rounding_as_told(load, refuse):
    assert load(GOOD, rounded_px=Fraction(1, 2)).rounding_px == Fraction(1, 2)
    assert load(GOOD, rounded_px=Fraction(0)).exact
    ((place, found, allowed),) = refuse(GOOD, rounded_px=Fraction(1))
    assert (place, found) == ("line 3, column x_px", "11.5")
    assert "--rounded-px" in allowed


@pytest.mark.parametrize(
    ("text", "place", "found"),
    [
        ("", "", "an empty file"),
        ("\n\n", "", "an empty file"),
        ("tick,x_px,y_px,right\n", "", "a header without rows"),
        ("0,1,1,1\n1,1,1,1\n", "line 1", '"0,1,1,1", which is no header'),
        (GOOD.replace("right", "rihgt"), "line 1", 'the unknown column "rihgt"'),
        (GOOD.replace("right", "x_px"), "line 1", "the column x_px twice"),
        (GOOD.replace("tick", "take"), "line 1", "neither tick nor time_s"),
        (GOOD.replace("y_px", "time_s"), "line 1", "both tick and time_s"),
        (GOOD.replace("right", "run"), "line 1", "no buttons"),
        (GOOD.replace("1,11.5,", "2,11.5,"), "line 4, column tick", '"2", the same tick as line 3'),
        (GOOD.replace("1,11.5,", "7,11.5,"), "line 4, column tick", '"2", earlier than line 3'),
        (GOOD.replace("11.5", "nan"), "line 3, column x_px", '"nan"'),
        (GOOD.replace("11.5", "inf"), "line 3, column x_px", '"inf"'),
        (GOOD.replace("11.5", "1e99"), "line 3, column x_px", '"1e99"'),
        (GOOD.replace("11.5", ""), "line 3, column x_px", '""'),
        (GOOD.replace("5,1\n2", "5,2\n2"), "line 3, column right", '"2"'),
        (GOOD.replace("1,11.5,5,1", "1.5,11.5,5,1"), "line 3, column tick", '"1.5"'),
        (GOOD.replace("11.5,", ""), "line 3", "3 cells"),
        (GOOD.replace("0,10", '0,"10'), "line 4", "broken CSV"),
        (GOOD[: GOOD.rindex("2,")], "", "2 rows, from which nothing follows"),
        (GOOD[: GOOD.index("1,")], "", "1 row, from which nothing follows"),
        (GOOD.encode("utf-16"), "", "UTF-16"),
        (b"tick,x_px\xff", "", "the byte 0xFF in line 1"),
    ],
)
def test_bad_input(refuse, text, place, found):
    problems = refuse(text)
    assert any(where == place and what.startswith(found) for where, what, _ in problems), problems
    assert all(allowed for _, _, allowed in problems)


def test_all_problems_at_once(refuse):
    text = rows("0,nan,1,0", "x,2,1,7", "2,3,inf,1")
    assert [place for place, _, _ in refuse(text)] == [
        "line 3, column tick",
        "line 2, column x_px",
        "line 4, column y_px",
        "line 3, column right",
    ]


def test_a_list_of_problems_that_would_not_end_is_cut_and_says_so(refuse):
    problems = refuse(rows(*(f"{t},nan,nan,3" for t in range(100))))
    assert len(problems) == 50
    assert problems[-1][1] == "so many problems that reading stopped"


def test_a_take_that_comes_back_is_refused(refuse):
    lines = [f"{name},{t},1,1,0" for name, t in ("a1", "a2", "a3", "b1", "b2", "b3", "a4", "a5", "a6")]
    ((place, found, _),) = refuse(rows(*lines, header="take,tick,x_px,y_px,right"))
    assert place == "line 8, column take"
    assert found == 'take "a" again, after other takes (it began in line 2)'


def test_a_file_with_too_many_rows_is_refused(refuse, monkeypatch):
    monkeypatch.setattr(recording, "MAX_ROWS", 3)
    ((_, found, allowed),) = refuse(rows(*(f"{t},1,1,1" for t in range(5))))
    assert (found, allowed) == ("more than 3 rows", "at most 3 rows")
