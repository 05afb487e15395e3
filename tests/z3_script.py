"""The motion model a third time, as constraints on whole numbers: a script of so many ticks is z3's to find or refuse.

z3 is a general-purpose solver (the package z3-solver). What it is given is linear arithmetic in the theory Ints of
SMT-LIB (The SMT-LIB Standard, smt-lib.org), so that its answer is about every script of that length, to the last
subpixel, and not about a sample. The constraints are written from the statement of the model alone; they take a
motion's numbers and call nothing of the simulator's.

Only what its worlds need is here: walking, jumping, coyote time, the bands of the jump and of the air, solid and
one_way ground, the border. A motion or a map with more is refused. Times are ticks, lengths subpixels.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import z3

if TYPE_CHECKING:
    from reach.kernels.params import Motion

Term = Any
"""A whole number or truth value of z3's."""

MOST_EFFORT = 400_000_000
"""In z3's count of steps, the same on every machine, after which it gives up; a jump takes 20 million or so."""


@dataclass(frozen=True)
class Body:
    """The state after a tick; `grounded`, `held` and `jump_was_down` are truth values."""

    x: Term
    y: Term
    vx: Term
    vy: Term
    grounded: Term
    takeoff: Term
    held: Term
    coyote: Term
    jump_was_down: Term


@dataclass(frozen=True)
class Pressed:
    """What is down in a tick, truth values; left and right exclude each other."""

    left: Term
    right: Term
    jump: Term


class Z3Script:
    """A world, a start at rest on the ground, and a script of so many ticks that is z3's to choose.

    `rows` has `#` for solid and `=` for one_way ground, all else is empty. `start` is the body's left and top; without
    one the body begins in any state that is `within`.
    """

    def __init__(
        self, motion: Motion, rows: Sequence[str], tile: int, start: tuple[int, int] | None, ticks: int
    ) -> None:
        if motion.has_run or motion.buffer_ticks or motion.drop_through or motion.launch_tick_gravity or motion.drag:
            raise ValueError("a motion with a run, a buffer, drop_through, launch_tick_gravity or drag")
        if motion.cut_speed >= 0 or not set("".join(rows)) <= set(".#="):
            raise ValueError("a motion with a cut speed, or a map with more than solid and one_way tiles")
        self.motion = motion
        self.tile = tile
        self.columns, self.depth = len(rows[0]), len(rows) * tile
        self.blocking = _runs(rows, "#+")
        self.carrying = _runs(rows, "[#=]+")
        self.solver = z3.SimpleSolver()
        # the older of z3's simplex cores, three times as fast on these
        self.solver.set("arith.solver", 2)
        self.solver.set("rlimit", MOST_EFFORT)
        self.bodies = [_unknown_body(0)]
        self.pressed = [Pressed(*(z3.Bool(f"{name}{t}") for name in ("left", "right", "jump"))) for t in range(ticks)]
        for t, pressed in enumerate(self.pressed):
            before, after = self.bodies[-1], _unknown_body(t + 1)
            self.solver.add(z3.Not(z3.And(pressed.left, pressed.right)))
            terms = self._tick(before, pressed)
            self.solver.add(*(getattr(after, name) == term for name, term in vars(terms).items()))
            self.bodies.append(after)
        first = self.bodies[0]
        if start is None:
            self.solver.add(self.within(first))
        else:
            at_rest = Body(*start, 0, 0, True, 0, False, 0, False)
            self.solver.add(*(getattr(first, name) == value for name, value in vars(at_rest).items()))
            # follows from the rules, and is said because it halves the time; a lost body gets nowhere
            self.solver.add(*(z3.And(self.within(b), b.y < self.depth) for b in self.bodies))

    def within(self, body: Body) -> Term:
        """Whether speeds are within those of the motion and the body within the border; true of every body."""
        m = self.motion
        fastest, highest = max(m.walk_cap, *m.air_cap.tolist()), max(m.jump_launch.tolist())
        return z3.And(
            body.vx <= fastest,
            body.vx >= -fastest,
            body.vy <= m.terminal,
            body.vy >= -highest,
            body.x >= 0,
            body.x <= self.columns * self.tile - m.body_w,
        )

    def standing_on(self, column: int, row: int) -> Term:
        """Whether a tile carries the body after the last tick. (One can wait at the start: sooner is as good.)"""
        last = self.bodies[-1]
        feet = last.y + self.motion.body_h
        return z3.And(last.grounded, feet == row * self.tile, self._over(last.x, column, column))

    def find(self, wanted: Term) -> np.ndarray | None:
        """Inputs that do what is wanted, int64 [ticks, 4] as the simulator takes them; None where there are none.

        Raises
        ------
        RuntimeError
            If z3 has given up.
        """
        answer = self.solver.check(wanted)
        if answer == z3.unknown:
            raise RuntimeError(f"z3 has no answer: {self.solver.reason_unknown()}")
        if answer == z3.unsat:
            return None
        return np.array(
            [(self._value(p.right) - self._value(p.left), 0, 0, self._value(p.jump)) for p in self.pressed], np.int64
        )

    def states(self) -> list[dict[str, int]]:
        """What z3 takes the body to do in the script that it has just found, the start first."""
        return [{name: self._value(term) for name, term in vars(body).items()} for body in self.bodies]

    def _value(self, term: Term) -> int:
        found = self.solver.model().eval(term, model_completion=True)
        return int(z3.is_true(found)) if z3.is_bool(found) else int(found.as_long())

    def _tick(self, b: Body, pressed: Pressed) -> Body:
        m = self.motion
        vx = z3.If(b.grounded, self._ground_speed(b, pressed), self._air_speed(b, pressed))

        jumps = z3.And(pressed.jump, z3.Not(b.jump_was_down), z3.Or(b.grounded, b.coyote > 0))
        still_held = z3.And(b.held, pressed.jump, b.vy < 0)
        gravity = z3.If(
            still_held,
            _band(m.jump_from, m.jump_gravity_held, b.takeoff),
            _band(m.jump_from, m.jump_gravity, b.takeoff),
        )
        launch = _band(m.jump_from, m.jump_launch, _size(vx))
        vy = z3.If(jumps, -launch, z3.If(b.grounded, 0, _least(b.vy + gravity, m.terminal)))
        grounded = z3.And(b.grounded, z3.Not(jumps))
        held = z3.Or(jumps, z3.And(z3.Not(b.grounded), still_held))
        coyote = z3.If(z3.Or(jumps, b.grounded), 0, _greatest(b.coyote - 1, 0))

        x = self._sideways(b.x, b.y, vx)
        takeoff = z3.If(jumps, _size(vx), b.takeoff)
        vx = z3.If(x == b.x + vx, vx, 0)

        y = z3.If(grounded, b.y, self._vertically(x, b.y, vy))
        hits = z3.And(z3.Not(grounded), y != b.y + vy)
        lands = z3.And(hits, vy > 0)
        walks_off = z3.And(grounded, z3.Not(self._carried(x, b.y)))
        return Body(
            x=x,
            y=y,
            vx=vx,
            vy=z3.If(hits, 0, vy),
            grounded=z3.Or(lands, z3.And(grounded, z3.Not(walks_off))),
            takeoff=z3.If(walks_off, _size(vx), takeoff),
            held=z3.And(held, z3.Not(hits)),
            coyote=z3.If(walks_off, m.coyote_ticks, z3.If(lands, 0, coyote)),
            jump_was_down=pressed.jump,
        )

    def _ground_speed(self, b: Body, pressed: Pressed) -> Term:
        m = self.motion

        def to_the_right(vx: Term) -> Term:
            rate = z3.If(vx <= m.walk_cap, m.walk_accel, m.coast)
            return z3.If(vx >= 0, _approach(vx, m.walk_cap, rate), _approach(vx, 0, m.reverse))

        return _either_way(b.vx, pressed, _approach(b.vx, 0, m.coast), to_the_right)

    def _air_speed(self, b: Body, pressed: Pressed) -> Term:
        m = self.motion
        cap = _band(m.air_cap_from, m.air_cap, b.takeoff)

        def to_the_right(vx: Term) -> Term:
            faster = z3.If(vx < cap, _least(vx + _band(m.air_accel_from, m.air_accel, vx), cap), vx)
            pairs = np.column_stack([m.air_reverse_from_speed, m.air_reverse_from_takeoff])
            slower = _approach(vx, 0, _band(pairs, m.air_reverse, -vx, b.takeoff))
            return z3.If(vx >= 0, faster, slower)

        return _either_way(b.vx, pressed, b.vx, to_the_right)

    def _over(self, x: Term, first: int, last: int) -> Term:
        """Whether a body at x overlaps one of the columns."""
        return z3.And(x + self.motion.body_w > first * self.tile, x < (last + 1) * self.tile)

    def _carried(self, x: Term, y: Term) -> Term:
        feet = y + self.motion.body_h
        return z3.Or(*(z3.And(feet == row * self.tile, self._over(x, a, z)) for row, a, z in self.carrying))

    def _sideways(self, x: Term, y: Term, vx: Term) -> Term:
        """Where a move by vx ends: at the nearest wall of a row that the body overlaps, or at the border."""
        w, h, tile = self.motion.body_w, self.motion.body_h, self.tile
        end = _least(_greatest(x + vx, 0), self.columns * tile - w)
        for row, a, z in self.blocking:
            left, right = a * tile, (z + 1) * tile
            beside = z3.And(y < (row + 1) * tile, y + h > row * tile)
            end = z3.If(z3.And(beside, x + w <= left, end + w > left), left - w, end)
            end = z3.If(z3.And(beside, x >= right, end < right), right, end)
        return end

    def _vertically(self, x: Term, y: Term, vy: Term) -> Term:
        """Where a move by vy ends: with the feet on the nearest top that they pass, or the head at what it hits."""
        h, tile = self.motion.body_h, self.tile
        end = y + vy
        for row, a, z in self.carrying:
            top = row * tile
            end = z3.If(z3.And(self._over(x, a, z), y + h <= top, end + h > top), top - h, end)
        for row, a, z in self.blocking:
            bottom = (row + 1) * tile
            end = z3.If(z3.And(self._over(x, a, z), y >= bottom, end < bottom), bottom, end)
        return end


def _unknown_body(tick: int) -> Body:
    truths = ("grounded", "held", "jump_was_down")
    return Body(**{name: (z3.Bool if name in truths else z3.Int)(f"{name}{tick}") for name in Body.__annotations__})


def _least(a: Term, b: Term) -> Term:
    return z3.If(a < b, a, b)


def _greatest(a: Term, b: Term) -> Term:
    return z3.If(a > b, a, b)


def _size(a: Term) -> Term:
    return z3.If(a < 0, -a, a)


def _approach(value: Term, target: Term, rate: Term) -> Term:
    return z3.If(value < target, _least(value + rate, target), _greatest(value - rate, target))


def _band(thresholds: np.ndarray, values: np.ndarray, *speeds: Term) -> Term:
    """The value of the last entry none of whose thresholds is above its speed; a threshold for each speed."""
    found: Term = int(values[0])
    for limits, value in zip(thresholds[1:], values[1:], strict=True):
        passed = [speed >= int(limit) for speed, limit in zip(speeds, np.atleast_1d(limits), strict=True)]
        found = z3.If(z3.And(*passed), int(value), found)
    return found


def _either_way(vx: Term, pressed: Pressed, neither: Term, to_the_right: Callable[[Term], Term]) -> Term:
    """The new speed by what is pressed; to the left is to the right in a mirror."""
    return z3.If(pressed.right, to_the_right(vx), z3.If(pressed.left, -to_the_right(-vx), neither))


def _runs(rows: Sequence[str], pattern: str) -> list[tuple[int, int, int]]:
    """(row, first column, last column) of every unbroken run of such tiles."""
    return [(r, m.start(), m.end() - 1) for r, line in enumerate(rows) for m in re.finditer(pattern, line)]
