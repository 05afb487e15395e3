"""Errors a user can cause: one line a problem, and no flood of them."""

from reach.errors import SHOWN_PROBLEMS, InputError, OutputError, Problem, ReachError, fault_text
from reach.level import level_from_dict


def test_a_problem_names_file_place_found_and_allowed():
    problem = Problem("quay.json", "$.tile_px (line 3, column 14)", "2", "a whole number from 4 to 256")
    assert str(problem) == "quay.json: $.tile_px (line 3, column 14): found 2; allowed: a whole number from 4 to 256"
    assert str(Problem("quay.json", "", "a directory", "a file")) == "quay.json: found a directory; allowed: a file"


def test_an_input_error_says_every_problem_on_a_line():
    problems = [Problem("f", str(number), "x", "y") for number in range(3)]
    error = InputError(iter(problems))
    assert error.problems == tuple(problems)
    assert str(error).splitlines() == [str(problem) for problem in problems]


def test_a_flood_of_problems_is_counted():
    error = InputError(Problem("f", str(number), "x", "y") for number in range(SHOWN_PROBLEMS + 7))
    lines = str(error).splitlines()
    assert len(lines) == SHOWN_PROBLEMS + 1
    assert lines[-1] == "and 7 more problems"


def test_both_errors_are_of_one_family():
    assert issubclass(InputError, ReachError)
    assert issubclass(OutputError, ReachError)
    error = OutputError("out.png", "no space left on device")
    assert (error.file, error.why) == ("out.png", "no space left on device")
    assert str(error) == "out.png: cannot be written: no space left on device"


def test_a_fault_says_where_in_this_package_it_came_up():
    try:
        level_from_dict({"format": "reach-level/1", "rows": [Strange()]})
    except ZeroDivisionError as error:
        text = fault_text(error)
    assert text.startswith("ZeroDivisionError: oh, no at reach/json_text.py, line ") and "\n" not in text


def test_a_fault_from_elsewhere_has_no_place():
    assert fault_text(ValueError("oh")) == "ValueError: oh"


class Strange:
    """What breaks as soon as it is looked at."""

    @property
    def __class__(self):
        raise ZeroDivisionError("oh,\nno")
