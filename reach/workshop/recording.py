"""A recording of a character: where it was after every tick, and which buttons were down in it.

A recording is a CSV table (RFC 4180) with a header. Columns, in any order: `tick` (a whole number) or `time_s`; `x_px`
and `y_px`; the buttons `left`, `right`, `down`, `run` and `jump`, each 0 or 1 (a button without a column is never
pressed, but `left`, `right` or `jump` must be there); and `take`, any text. A row tells the position at the end of its
tick and the buttons that were down in it. The rows of a take stand together, its ticks ascend and may have gaps.
"""

from __future__ import annotations

import csv
import io
import itertools
import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Context, Decimal
from fractions import Fraction
from pathlib import Path

import numpy as np

from reach.errors import SHOWN_PROBLEMS, InputError, Problem
from reach.files import origin_of, read_text
from reach.json_text import shown
from reach.movement import DEFAULT_TICK_RATE_HZ
from reach.script import BUTTONS
from reach.workshop.position_grid import Grid, find_grid, given_grid

MAX_ROWS = 1_000_000
"""More rows than this are refused."""
MIN_ROWS = 3
"""A take needs so many rows: from three positions follow two speeds, the least that tells of a change."""
MAX_PX = 1_000_000
MAX_TICK = 10**9
TICK_TOLERANCE = Fraction(1, 4)
"""So far, in ticks, may a time lie from a whole tick; times are often written with few decimals."""
EVEN_SHARE, UNEVEN_SHARE = Fraction(9, 10), Fraction(1, 4)
"""Rows are evenly apart if so many of the steps between them are no further than that from the usual one."""

_COLUMNS = ("take", "tick", "time_s", "x_px", "y_px", *BUTTONS)
_WHOLE = re.compile(r"[+-]?[0-9]{1,18}")
_DECIMAL = re.compile(r"[+-]?([0-9]{1,18}(\.[0-9]{0,40})?|\.[0-9]{1,40})([eE][+-]?[0-9]{1,2})?")
_EXACT = Context(prec=200)


@dataclass(frozen=True, eq=False)
class Take:
    """One uninterrupted piece of play.

    `ticks` is int64 [n], ascending. `x_spx` and `y_spx` are the positions in subpixels, y downward: int64 [n] where
    every position of the recording is a whole number of subpixels, else float64 [n]. `inputs` is int64 [n, 4]:
    direction (-1, 0 or +1), down, run, jump. `first_line` is the line of the file with the first row. The buttons of
    the first row have no effect that could be seen.
    """

    name: str
    ticks: np.ndarray
    x_spx: np.ndarray
    y_spx: np.ndarray
    inputs: np.ndarray
    first_line: int


@dataclass(frozen=True, eq=False)
class Recording:
    """All takes of a file.

    `rounding_px` is what positions were rounded to (the true one is within half of it, up to a shift that a whole take
    shares), 0 where they are exact; `rounding_said` tells in words how that is known. `buttons` names the columns that
    the file has. `tick_rate_hz` is the rate that `time_s` was read with, None where the file counts ticks.
    """

    origin: str
    takes: tuple[Take, ...]
    rounding_px: Fraction
    rounding_said: str
    buttons: tuple[str, ...]
    tick_rate_hz: int | None

    @property
    def rows(self) -> int:
        """The rows of all takes together."""
        return sum(len(take.ticks) for take in self.takes)

    @property
    def exact(self) -> bool:
        """Whether positions are what the character's own arithmetic made them, to the subpixel."""
        return self.rounding_px == 0


def load_recording(
    path: str | Path,
    y_up: bool = False,
    rounded_px: Fraction | None = None,
    tick_rate_hz: int | None = None,
) -> Recording:
    """Return the recording in a CSV file; `-` reads standard input.

    Parameters
    ----------
    path : str or Path
    y_up : bool
        Whether `y_px` grows upward in the file.
    rounded_px : Fraction, optional
        Positions are multiples of this, 0 for exact ones; found out from the positions unless given.
    tick_rate_hz : int, optional
        Ticks a second where the file tells `time_s`; DEFAULT_TICK_RATE_HZ unless given.

    Raises
    ------
    InputError
        If the file cannot be read or breaks a rule of the format; it names every problem.
    """
    return _Reader(path, y_up, rounded_px, tick_rate_hz or DEFAULT_TICK_RATE_HZ).recording()


class _TooMany(Exception):
    """So many problems that reading on would only add to the list."""


class _Reader:
    """Reads one file and gathers its problems."""

    def __init__(self, path: str | Path, y_up: bool, rounded_px: Fraction | None, tick_rate_hz: int) -> None:
        self.origin = origin_of(path)
        self.text = read_text(path)
        self.y_sign = -1 if y_up else 1
        self.rounded_px = rounded_px
        self.tick_rate_hz = tick_rate_hz
        self.problems: list[Problem] = []
        self.lines: list[int] = []
        self.rows: list[list[str]] = []
        self.places: dict[str, int] = {}

    def recording(self) -> Recording:
        """The recording, or every problem of the file."""
        try:
            self.read_table()
            blocks = self.blocks()
            ticks = [self.ticks_of(name, begin, end) for name, begin, end in blocks]
            xs, ys = self.positions("x_px"), self.positions("y_px")
            inputs = self.inputs()
        except _TooMany:
            raise InputError(self.problems) from None
        if self.problems:
            raise InputError(self.problems)
        spans = [(begin, end) for _, begin, end in blocks]
        grid = self.grid(xs, ys, ticks, spans)
        x, y = grid.spx(xs), grid.spx(ys) * self.y_sign
        takes = tuple(
            Take(name, take_ticks, x[begin:end], y[begin:end], inputs[begin:end], self.lines[begin])
            for (name, begin, end), take_ticks in zip(blocks, ticks, strict=True)
        )
        buttons = tuple(button for button in BUTTONS if button in self.places)
        rate = self.tick_rate_hz if "time_s" in self.places else None
        return Recording(self.origin, takes, grid.rounding_px, grid.said, buttons, rate)

    def complain(self, place: str, found: str, allowed: str) -> None:
        self.problems.append(Problem(self.origin, place, found, allowed))
        if len(self.problems) == SHOWN_PROBLEMS - 1:
            said = "so many problems that reading stopped"
            self.problems.append(Problem(self.origin, "", said, "a table as described in README"))
            raise _TooMany

    def complain_of_cell(self, row: int, column: str, found: str, allowed: str) -> None:
        self.complain(f"line {self.lines[row]}, column {column}", found, allowed)

    def read_table(self) -> None:
        """Fill `places`, `rows` and `lines`; the header's problems end the reading, since nothing else can be told."""
        reader = csv.reader(io.StringIO(self.text, newline=""), strict=True)
        table: list[tuple[int, list[str]]] = []
        try:
            line = 1
            for row in reader:
                table.append((line, row))
                line = reader.line_num + 1
                if len(table) > MAX_ROWS + 1:
                    raise self.refused("", f"more than {MAX_ROWS} rows", f"at most {MAX_ROWS} rows")
        except csv.Error as error:
            raise self.refused(f"line {reader.line_num}", f"broken CSV ({error})", "RFC 4180") from None
        while table and not any(cell.strip() for cell in table[-1][1]):
            table.pop()
        if not table:
            raise self.refused("", "an empty file", f"a header and at least {MIN_ROWS} rows")
        self.read_header(table[0][1])
        if self.problems:
            raise InputError(self.problems)
        if len(table) == 1:
            raise self.refused("", "a header without rows", f"a header and at least {MIN_ROWS} rows")
        width = len(table[0][1])
        for number, row in table[1:]:
            self.lines.append(number)
            self.rows.append([cell.strip() for cell in row])
            if len(row) != width:
                self.complain(f"line {number}", f"{len(row)} cells", f"{width} cells, as the header has")
        if self.problems:
            raise InputError(self.problems)

    def refused(self, place: str, found: str, allowed: str) -> InputError:
        return InputError([*self.problems, Problem(self.origin, place, found, allowed)])

    def read_header(self, header: Sequence[str]) -> None:
        names = [name.strip() for name in header]
        if not any(name in _COLUMNS for name in names):
            first = shown(",".join(names))
            self.complain("line 1", f"{first}, which is no header", f"a header of columns among {', '.join(_COLUMNS)}")
            return
        for place, name in enumerate(names):
            if name not in _COLUMNS:
                self.complain("line 1", f"the unknown column {shown(name)}", f"columns among {', '.join(_COLUMNS)}")
            elif name in self.places:
                self.complain("line 1", f"the column {name} twice", "each column once")
            else:
                self.places[name] = place
        counters = [name for name in ("tick", "time_s") if name in self.places]
        if len(counters) != 1:
            found = "both tick and time_s" if counters else "neither tick nor time_s"
            self.complain("line 1", found, "exactly one of tick and time_s")
        for name in ("x_px", "y_px"):
            if name not in self.places:
                self.complain("line 1", f"no column {name}", "both x_px and y_px")
        if not {"left", "right", "jump"} & set(self.places):
            self.complain("line 1", "no buttons", "at least one of left, right and jump")

    def blocks(self) -> list[tuple[str, int, int]]:
        """The takes: name, first row and the row after the last."""
        place = self.places.get("take")
        names = ["" if place is None else row[place] for row in self.rows]
        begins = [row for row in range(len(names)) if row == 0 or names[row] != names[row - 1]]
        seen: dict[str, int] = {}
        blocks = []
        for begin, end in zip(begins, [*begins[1:], len(names)], strict=True):
            name = names[begin]
            if name in seen:
                found = f"take {shown(name)} again, after other takes (it began in line {self.lines[seen[name]]})"
                self.complain_of_cell(begin, "take", found, "the rows of a take together")
            elif end - begin < MIN_ROWS:
                found = f"{end - begin} rows" if end - begin > 1 else "1 row"
                label = f"take {shown(name)}, from line {self.lines[begin]}" if place is not None else ""
                self.complain(label, f"{found}, from which nothing follows", f"at least {MIN_ROWS} rows a take")
            seen.setdefault(name, begin)
            blocks.append((name, begin, end))
        return blocks

    def ticks_of(self, name: str, begin: int, end: int) -> np.ndarray:
        """The ticks of one take, int64."""
        column = "tick" if "tick" in self.places else "time_s"
        read = self.whole_tick if column == "tick" else self.time
        if column == "time_s" and self.is_at_another_rate(begin, end):
            return np.arange(end - begin)
        ticks = np.zeros(end - begin, np.int64)
        first: Fraction | None = None
        before: tuple[int, int] | None = None
        for row in range(begin, end):
            value = read(row)
            if value is None:
                continue
            if first is None:
                first = value if column == "time_s" else Fraction(0)
            tick = self.tick_at(row, value, first) if column == "time_s" else int(value)
            ticks[row - begin] = tick
            if before is not None and tick <= before[0]:
                cell = shown(self.rows[row][self.places[column]])
                same = tick == before[0]
                what = "the same tick as" if same else "earlier than"
                found = f"{cell}, {what} line {self.lines[before[1]]}"
                self.complain_of_cell(row, column, found, "ticks that ascend within a take, each once")
            before = (tick, row)
        return ticks

    def whole_tick(self, row: int) -> Fraction | None:
        text = self.rows[row][self.places["tick"]]
        if _WHOLE.fullmatch(text) and abs(int(text)) <= MAX_TICK:
            return Fraction(int(text))
        self.complain_of_cell(row, "tick", shown(text), f"a whole number up to {MAX_TICK}")
        return None

    def time(self, row: int) -> Fraction | None:
        text = self.rows[row][self.places["time_s"]]
        if _DECIMAL.fullmatch(text):
            value = Fraction(text)
            if abs(value) * self.tick_rate_hz <= MAX_TICK:
                return value
        self.complain_of_cell(row, "time_s", shown(text), f"a decimal number of s, up to {MAX_TICK} ticks")
        return None

    def is_at_another_rate(self, begin: int, end: int) -> bool:
        """Whether a take's rows are evenly apart, but not by whole ticks; this is then said once, not row by row."""
        texts = [row[self.places["time_s"]] for row in self.rows[begin:end]]
        if not all(_DECIMAL.fullmatch(text) for text in texts):
            return False
        times = [Fraction(text) for text in texts]
        ticks = [(time - times[0]) * self.tick_rate_hz for time in times]
        steps = [later - earlier for earlier, later in itertools.pairwise(times)]
        usual = sorted(steps)[len(steps) // 2]
        even = [step for step in steps if abs(step - usual) <= usual * UNEVEN_SHARE]
        off = sum(abs(tick - round(tick)) > TICK_TOLERANCE for tick in ticks)
        if off < 2 or usual <= 0 or len(even) < len(steps) * EVEN_SHARE:
            return False
        mean = sum(even, Fraction(0)) / len(even)
        found = f"rows {float(mean):.4g} s apart, which is {float(1 / mean):.4g} a second"
        allowed = (
            f"rows whole ticks apart at {self.tick_rate_hz} ticks a second, the rate of the profile or of "
            f"--tick-rate-hz ({DEFAULT_TICK_RATE_HZ} without either)"
        )
        self.complain(f"from line {self.lines[begin]}, column time_s", found, allowed)
        return True

    def tick_at(self, row: int, time_s: Fraction, first_s: Fraction) -> int:
        """The tick of a time, counted from the take's first row."""
        exact = (time_s - first_s) * self.tick_rate_hz
        tick = round(exact)
        if abs(exact - tick) > TICK_TOLERANCE:
            text = self.rows[row][self.places["time_s"]]
            found = f"{text}, which is {float(exact):.2f} ticks after the take's first row"
            allowed = f"times a whole number of ticks apart (to within 1/4) at {self.tick_rate_hz} Hz"
            self.complain_of_cell(row, "time_s", found, allowed)
        return tick

    def positions(self, column: str) -> list[Decimal]:
        place = self.places[column]
        values = []
        for row, cells in enumerate(self.rows):
            text = cells[place]
            if _DECIMAL.fullmatch(text):
                value = _EXACT.create_decimal(text)
                if abs(value) <= MAX_PX:
                    values.append(value)
                    continue
            allowed = f"a decimal number of px from -{MAX_PX} to {MAX_PX}"
            self.complain_of_cell(row, column, shown(text), allowed)
        return values

    def inputs(self) -> np.ndarray:
        """int64 [rows, 4]: direction, down, run, jump."""
        down = {button: np.zeros(len(self.rows), np.int64) for button in BUTTONS}
        for button in BUTTONS:
            if button not in self.places:
                continue
            place = self.places[button]
            for row, cells in enumerate(self.rows):
                text = cells[place]
                if text == "1":
                    down[button][row] = 1
                elif text != "0":
                    self.complain_of_cell(row, button, shown(text), "0 (up) or 1 (down)")
        return np.stack([down["right"] - down["left"], down["down"], down["run"], down["jump"]], axis=1)

    def grid(self, xs: list[Decimal], ys: list[Decimal], ticks: list[np.ndarray], spans: list[tuple[int, int]]) -> Grid:
        """What positions are multiples of, found out or as given."""
        if self.rounded_px is None:
            return find_grid(xs, ys, ticks, spans)
        grid = given_grid(self.rounded_px, xs, ys, spans)
        if grid.misfits:
            row, column = grid.misfits[0]
            found = shown(Decimal(self.rows[row][self.places[column]]))
            if len(grid.misfits) > 1:
                found += f", the first of {len(grid.misfits)} such positions"
            step = f"{self.rounded_px or '1/65536'} px"
            allowed = f"steps of {step} from the take's first row, as --rounded-px says"
            self.complain_of_cell(row, column, found, allowed)
            raise InputError(self.problems)
        return grid
