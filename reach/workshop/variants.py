"""One tick of the motion model in plain Python, with switches for the ways in which other engines do it differently.

With no switch set, `Variant()`, this is the tick of `reach/kernels/step.py`, rule by rule; the tests compare the two. A
switch changes one rule, so that a recording can be replayed as if the character's engine had that rule.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from reach.kernels.params import HAZARD, ONE_WAY, SOLID, SPRING, Motion, State, Terrain

SHARE = 65536
"""What a share such as `drag_share` counts in: so much is all of it."""


@dataclass(frozen=True)
class Variant:
    """The rules that differ from the motion model; unless given, none.

    Speeds and lengths are in spx and spx per tick; shares are in 1/65536.
    """

    move_first: bool = False
    """The body moves by the speeds that the last tick left; only then do they change."""
    mean_speed: bool = False
    """The body moves by the mean of the old and the new speed."""
    input_delay_ticks: int = 0
    """Buttons act so many ticks after they are pressed."""
    reverse_through_zero: bool = False
    """Reversing does not stop at 0: what is left of the rate speeds the body up the other way in the same tick."""
    excess_cut: bool = False
    """On the ground, a speed above the top speed is cut to it at once, where it should fade."""
    ground_rules_in_air: bool = False
    """The ground's rules for horizontal speed hold in the air too."""
    air_coasts: bool = False
    """With no direction pressed, speed fades in the air as on the ground."""
    held_after_apex: bool = False
    """Gravity stays low after the apex for as long as the button is down."""
    held_anew: bool = False
    """Gravity follows the button while the body rises: pressing it again makes it low again."""
    release_share: int | None = None
    """Releasing the button cuts the upward speed to this share of it."""
    terminal_before_gravity: bool = False
    """The terminal speed bounds the speed before gravity is added, which may then pass it."""
    bands_by_current_speed: bool = False
    """Gravity and air control go by the current speed, not by that of the takeoff."""
    landing_stops: bool = False
    """A landing takes the horizontal speed away."""
    lands_on_touch: bool = False
    """A feet line that comes exactly to a top has landed."""
    position_grid: int = 1
    """Positions are rounded to a multiple of this after every tick."""
    speed_grid: int = 1
    """Speeds are rounded to a multiple of this after every tick."""
    rounds_down: bool = False
    """What is rounded is rounded down, else to the nearest."""
    drag_share: int = 0
    """In the air, both speeds lose this share of themselves in every tick."""


class Ground:
    """A terrain for questions in plain Python about one position; answers as in `reach/kernels/contact.py`."""

    def __init__(self, terrain: Terrain) -> None:
        """Copy the terrain's tables."""
        self.tile = int(terrain.tile)
        self.rows, self.columns = terrain.material.shape
        material = terrain.material
        self.blocking = np.isin(material, (SOLID, SPRING)).tolist()
        self.carrying = np.isin(material, (SOLID, ONE_WAY, SPRING)).tolist()
        self.hazard = (material == HAZARD).tolist()
        self.spring = (material == SPRING).tolist()
        self.launch = terrain.launch.tolist()
        ends = zip(terrain.place_column.tolist(), terrain.place_row.tolist(), terrain.place_ends.tolist(), strict=True)
        self.ends = [(column, row) for column, row, ends_level in ends if ends_level]

    def span(self, low: int, size: int) -> range:
        """The columns or rows that [low, low + size) overlaps."""
        return range(low // self.tile, (low + size - 1) // self.tile + 1)

    def column_blocks(self, column: int, rows: range) -> bool:
        """Whether some tile of the column blocks in these rows."""
        if not 0 <= column < self.columns:
            return True
        return any(self.blocking[row][column] for row in rows if 0 <= row < self.rows)

    def row_has(self, table: list[list[bool]], row: int, columns: range) -> bool:
        """Whether some tile of the row, in these columns, is in the table; the border columns always are."""
        if columns[0] < 0 or columns[-1] >= self.columns:
            return True
        return 0 <= row < self.rows and any(table[row][column] for column in columns)

    def spring_launch(self, row: int, columns: range) -> int:
        """The greatest launch of the row's springs in these columns, -1 without any."""
        if not 0 <= row < self.rows:
            return -1
        on = [self.launch[row][c] for c in columns if 0 <= c < self.columns and self.spring[row][c]]
        return max(on, default=-1)

    def is_lost(self, x: int, y: int, motion: Motion) -> bool:
        """Whether the body overlaps a hazard or is in the void."""
        if y >= self.rows * self.tile:
            return True
        rows, columns = self.span(y, motion.body_h), self.span(x, motion.body_w)
        return any(
            self.hazard[row][column]
            for row in rows
            if 0 <= row < self.rows
            for column in columns
            if 0 <= column < self.columns
        )

    def touches_end(self, x: int, y: int, motion: Motion) -> bool:
        """Whether the body overlaps a place that ends the level."""
        rows, columns = self.span(y, motion.body_h), self.span(x, motion.body_w)
        return any(column in columns and row in rows for column, row in self.ends)


def approach(value: int, target: int, rate: int) -> int:
    """`value` moved toward `target` by at most `rate`, never past it."""
    return min(value + rate, target) if value < target else max(value - rate, target)


def to_grid(value: int, grid: int, down: bool) -> int:
    """The multiple of `grid` nearest to a value, or the nearest below it; halves go up."""
    return value if grid == 1 else (value if down else value + grid // 2) // grid * grid


class Player:
    """Plays inputs by the rules of a variant. The motion's arrays become lists, which plain Python reads faster."""

    def __init__(self, motion: Motion, terrain: Terrain | Ground, variant: Variant = Variant()) -> None:
        """Take the profile, where it moves, and what differs."""
        self.ground = terrain if isinstance(terrain, Ground) else Ground(terrain)
        self.variant = variant
        values: list[Any] = [value.tolist() if isinstance(value, np.ndarray) else int(value) for value in motion]
        self.motion = Motion(*values)

    def play(self, start: State, inputs: np.ndarray) -> np.ndarray:
        """The positions after every tick.

        Parameters
        ----------
        start : State
        inputs : int64 [ticks, 4]
            Columns direction, down, run, jump.

        Returns
        -------
        int64 [ticks + 1, 2]
            x and y, spx; row 0 is the start.
        """
        state = start
        path = [(state.x, state.y)]
        rows: Sequence[Sequence[int]] = inputs.tolist()
        delay = self.variant.input_delay_ticks
        if delay:
            rows = [(0, 0, 0, 0)] * delay + list(rows[: max(0, len(rows) - delay)])
        for row in rows:
            state = self.tick(state, row)
            path.append((state.x, state.y))
        return np.array(path, np.int64).reshape(-1, 2)

    def tick(self, state: State, buttons: Sequence[int]) -> State:
        """The state after one tick; `buttons` are direction, down, run and jump."""
        if state.lost or state.ended:
            return state
        motion, ground, variant = self.motion, self.ground, self.variant
        direction, down, run, jump = buttons
        x, y, vx, vy = state.x, state.y, state.vx, state.vy
        grounded, takeoff, held, coyote = state.grounded, state.takeoff, state.held, state.coyote
        buffer = motion.buffer_ticks + 1 if jump and not state.jump_was_down else state.buffer

        vx = self.speed_along(vx, direction, run, state)
        run_memory = 0
        if motion.has_run:
            run_memory = motion.run_memory if run else max(0, state.run_memory - 1) if grounded else 0

        if buffer > 0 and (grounded or coyote > 0):
            takeoff, held = abs(vx), jump
            vy = self.takeoff_speed(takeoff, held)
            grounded = coyote = buffer = 0
        elif grounded:
            vy = 0
            row = (y + motion.body_h) // ground.tile
            below = ground.span(x, motion.body_w)
            if down and motion.drop_through and not ground.row_has(ground.blocking, row, below):
                grounded = held = coyote = 0
                takeoff = abs(vx)
                y += 1
        else:
            vy, held = self.falling_speed(vy, held, jump, takeoff, abs(vx))
            coyote = max(0, coyote - 1)
        if variant.drag_share and not grounded:
            vx -= vx * variant.drag_share // SHARE
            vy -= vy * variant.drag_share // SHARE
        if variant.speed_grid != 1:
            vx = to_grid(vx, variant.speed_grid, variant.rounds_down)
            vy = to_grid(vy, variant.speed_grid, variant.rounds_down)

        move_x, move_y = vx, vy
        if variant.move_first:
            move_x, move_y = state.vx, 0 if state.grounded else state.vy
        elif variant.mean_speed:
            move_x, move_y = (state.vx + vx) // 2, (state.vy + vy) // 2
        x, stopped = self.move_sideways(x, y, move_x)
        if stopped:
            vx = 0

        if not grounded:
            y, hit = self.move_vertically(x, y, move_y)
            if hit:
                vy = held = 0
            if hit == "landing":
                grounded, coyote = 1, 0
                if variant.landing_stops:
                    vx = 0
        elif not self.is_carried(x, y):
            grounded = held = vy = 0
            takeoff, coyote = abs(vx), motion.coyote_ticks

        if grounded:
            row = (y + motion.body_h) // ground.tile
            launch = ground.spring_launch(row, ground.span(x, motion.body_w))
            if launch >= 0:
                takeoff, vy = abs(vx), -launch
                grounded = held = coyote = 0
        if variant.position_grid != 1:
            x = to_grid(x, variant.position_grid, variant.rounds_down)
            if not grounded:
                y = to_grid(y, variant.position_grid, variant.rounds_down)

        lost = int(ground.is_lost(x, y, motion))
        ended = int(not lost and ground.touches_end(x, y, motion))
        return State(x, y, vx, vy, grounded, takeoff, held, run_memory, coyote, max(0, buffer - 1), jump, lost, ended)

    def speed_along(self, vx: int, direction: int, run: int, state: State) -> int:
        """Rule 2."""
        motion, variant = self.motion, self.variant
        if state.grounded or variant.ground_rules_in_air:
            return self.ground_speed(vx, direction, bool(motion.has_run and (run or state.run_memory > 0)))
        speed = abs(vx)
        takeoff = speed if variant.bands_by_current_speed else state.takeoff
        if direction == 0:
            return approach(vx, 0, motion.coast if variant.air_coasts else motion.drag)
        if direction * vx < 0:
            entry = _band2(motion.air_reverse_from_speed, motion.air_reverse_from_takeoff, speed, takeoff)
            return self.reversed(vx, direction, motion.air_reverse[entry])
        cap = motion.air_cap[_band(motion.air_cap_from, takeoff)]
        rate = motion.air_accel[_band(motion.air_accel_from, speed)] if speed < cap else motion.drag
        return approach(vx, direction * cap, rate)

    def ground_speed(self, vx: int, direction: int, running: bool) -> int:
        """Rule 2 on the ground."""
        motion = self.motion
        if direction == 0:
            return approach(vx, 0, motion.coast)
        if direction * vx < 0:
            return self.reversed(vx, direction, motion.reverse)
        rate, cap = (motion.run_accel, motion.run_cap) if running else (motion.walk_accel, motion.walk_cap)
        if abs(vx) > cap:
            return direction * cap if self.variant.excess_cut else approach(vx, direction * cap, motion.coast)
        return approach(vx, direction * cap, rate)

    def reversed(self, vx: int, direction: int, rate: int) -> int:
        """The speed after a tick with the opposite direction pressed."""
        return vx + direction * rate if self.variant.reverse_through_zero else approach(vx, 0, rate)

    def takeoff_speed(self, takeoff: int, held: int) -> int:
        """Rule 3a."""
        motion = self.motion
        entry = _band(motion.jump_from, takeoff)
        vy = -motion.jump_launch[entry]
        if not held:
            vy = self.released(vy)
        if motion.launch_tick_gravity:
            gravity = motion.jump_gravity_held if held else motion.jump_gravity
            vy = self.pulled(vy, gravity[entry])
        return vy

    def falling_speed(self, vy: int, held: int, jump: int, takeoff: int, speed: int) -> tuple[int, int]:
        """Rule 3c: the new speed, and whether the button still counts as held."""
        motion, variant = self.motion, self.variant
        if held and not jump:
            held = 0
            vy = self.released(vy)
        if variant.held_anew and jump and vy < 0:
            held = 1
        if vy >= 0 and not variant.held_after_apex:
            held = 0
        entry = _band(motion.jump_from, speed if variant.bands_by_current_speed else takeoff)
        gravity = motion.jump_gravity_held if held else motion.jump_gravity
        return self.pulled(vy, gravity[entry]), held

    def released(self, vy: int) -> int:
        """The vertical speed after the button is let go in a rise."""
        if self.variant.release_share is not None:
            return -(max(0, -vy) * self.variant.release_share // SHARE) if vy < 0 else vy
        return max(vy, -self.motion.cut_speed) if self.motion.cut_speed >= 0 else vy

    def pulled(self, vy: int, gravity: int) -> int:
        """The vertical speed after a tick of gravity."""
        if self.variant.terminal_before_gravity:
            return min(vy, self.motion.terminal) + gravity
        return min(vy + gravity, self.motion.terminal)

    def move_sideways(self, x: int, y: int, vx: int) -> tuple[int, bool]:
        """Rule 4: where the body is then, and whether a wall stopped it."""
        ground, width = self.ground, self.motion.body_w
        if vx == 0:
            return x, False
        rows = ground.span(y, self.motion.body_h)
        if vx > 0:
            for column in range(ground.span(x, width)[-1] + 1, ground.span(x + vx, width)[-1] + 1):
                if ground.column_blocks(column, rows):
                    return column * ground.tile - width, True
        else:
            for column in range(x // ground.tile - 1, (x + vx) // ground.tile - 1, -1):
                if ground.column_blocks(column, rows):
                    return (column + 1) * ground.tile, True
        return x + vx, False

    def move_vertically(self, x: int, y: int, vy: int) -> tuple[int, str]:
        """Rule 5 for a body in the air: where it is then, and what it hit."""
        ground, height = self.ground, self.motion.body_h
        columns = ground.span(x, self.motion.body_w)
        if vy > 0:
            feet = y + height
            last = feet + vy if self.variant.lands_on_touch else feet + vy - 1
            for row in range(-(-feet // ground.tile), last // ground.tile + 1):
                if ground.row_has(ground.carrying, row, columns):
                    return row * ground.tile - height, "landing"
        elif vy < 0:
            for row in range(y // ground.tile - 1, (y + vy) // ground.tile - 1, -1):
                if ground.row_has(ground.blocking, row, columns):
                    return (row + 1) * ground.tile, "ceiling"
        return y + vy, ""

    def is_carried(self, x: int, y: int) -> bool:
        """Whether the feet line is on the top of a tile that carries."""
        ground = self.ground
        row, above = divmod(y + self.motion.body_h, ground.tile)
        return above == 0 and ground.row_has(ground.carrying, row, ground.span(x, self.motion.body_w))


def _band(thresholds: Any, speed: int) -> int:
    index = len(thresholds) - 1
    while index > 0 and thresholds[index] > speed:
        index -= 1
    return index


def _band2(from_speed: Any, from_takeoff: Any, speed: int, takeoff: int) -> int:
    index = len(from_speed) - 1
    while index > 0 and (from_speed[index] > speed or from_takeoff[index] > takeoff):
        index -= 1
    return index
