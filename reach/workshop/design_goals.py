"""What a designer wants of a movement, and what is taken where nothing is said.

Where goals contradict, the earlier in this order is kept: jump height, ticks to the apex, air time, least hop, terminal
speed, gap, ticks to top speed, ticks to stop.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from reach.errors import InputError, Problem
from reach.movement import DEFAULT_TICK_RATE_HZ, MAX_PX_PER_TICK, SPX_PER_PX, decimal_text

DEFAULT_JUMP_TILES = Fraction(7, 2)
DEFAULT_GAP_TILES = Fraction(5)
DEFAULT_RISE_S = Fraction(2, 5)
"""Time to the apex, unless said or following from an air time."""
DEFAULT_FALL_SHARE = Fraction(3, 4)
"""The fall of a full jump takes this part of its rise."""
DEFAULT_TO_TOP_S = Fraction(3, 10)
DEFAULT_TO_STOP_S = Fraction(1, 5)
DEFAULT_TERMINAL_SHARE = Fraction(6, 5)
"""Terminal speed, as a part of the speed at which a full jump lands on level ground."""
BODY_TILES = (Fraction(3, 4), Fraction(3, 2))
"""Width and height of the body."""
REVERSE_SHARE = 2
"""Reversing brakes so many times as fast as coasting."""
AIR_SHARE = Fraction(7, 10)
"""Air control: acceleration and reversing as a part of the ground's."""


@dataclass(frozen=True)
class Goals:
    """Design goals; None where nothing is asked. Lengths in tiles, times in ticks.

    The hop is a jump whose button is down for one tick. The air time is that of a full jump to the same level, from the
    tick of the takeoff to that of the landing. The gap is the widest between two ledges of one height that a full jump
    at top speed crosses, to the last subpixel. At most one of the two terminal speeds is given.
    """

    jump_tiles: Fraction | None = None
    hop_tiles: Fraction | None = None
    ticks_to_apex: int | None = None
    air_ticks: int | None = None
    gap_tiles: Fraction | None = None
    ticks_to_top: int | None = None
    ticks_to_stop: int | None = None
    terminal_px_per_s: Fraction | None = None
    terminal_tiles_per_s: Fraction | None = None
    tile_px: int = 16
    tick_rate_hz: int = DEFAULT_TICK_RATE_HZ
    body_width_px: Fraction | None = None
    body_height_px: Fraction | None = None

    def asked(self, name: str) -> Fraction | int | None:
        """What is asked of a goal, a terminal speed in px/s; None where nothing is."""
        if name == "terminal" and self.terminal_tiles_per_s is not None:
            return self.terminal_tiles_per_s * self.tile_px
        value: Fraction | int | None = getattr(self, FIELDS[name])
        return value

    def option(self, name: str) -> str:
        """How a goal was called where it was asked for."""
        in_tiles = name == "terminal" and self.terminal_tiles_per_s is not None
        return "--terminal-tiles-per-s" if in_tiles else OPTIONS[name]


@dataclass(frozen=True)
class Wanted:
    """Goals in subpixels and ticks, complete; `asked` names those that the designer gave."""

    jump_spx: Fraction
    hop_spx: Fraction | None
    rise_ticks: int
    fall_ticks: int
    gap_spx: Fraction
    to_top_ticks: int
    to_stop_ticks: int
    terminal_spx: Fraction | None
    body_w_spx: int
    body_h_spx: int
    asked: frozenset[str]


def complete(goals: Goals) -> Wanted:
    """Return goals with everything that was not asked filled in.

    Raises
    ------
    InputError
        If goals contradict each other so that none can be met by letting go of the other; it names every problem.
    """
    asked = frozenset(
        name
        for name in ("jump", "hop", "apex", "air", "gap", "top", "stop", "terminal")
        if goals.asked(name) is not None
    )
    tile = goals.tile_px * SPX_PER_PX
    rise, fall = _rise_and_fall(goals)
    terminal_px_per_s = goals.asked("terminal")
    width, height = (
        px if px is not None else Fraction(max(1, round(tiles * goals.tile_px)))
        for px, tiles in zip((goals.body_width_px, goals.body_height_px), BODY_TILES, strict=True)
    )
    wanted = Wanted(
        jump_spx=_or(goals.jump_tiles, DEFAULT_JUMP_TILES) * tile,
        hop_spx=None if goals.hop_tiles is None else goals.hop_tiles * tile,
        rise_ticks=rise,
        fall_ticks=fall,
        gap_spx=_or(goals.gap_tiles, DEFAULT_GAP_TILES) * tile,
        to_top_ticks=goals.ticks_to_top or _ticks(DEFAULT_TO_TOP_S, goals),
        to_stop_ticks=goals.ticks_to_stop or _ticks(DEFAULT_TO_STOP_S, goals),
        terminal_spx=None
        if terminal_px_per_s is None
        else Fraction(terminal_px_per_s) * SPX_PER_PX / goals.tick_rate_hz,
        body_w_spx=max(1, round(width * SPX_PER_PX)),
        body_h_spx=max(1, round(height * SPX_PER_PX)),
        asked=asked,
    )
    problems = list(_contradictions(goals, wanted))
    if problems:
        raise InputError(problems)
    return wanted


FIELDS = {
    "jump": "jump_tiles",
    "hop": "hop_tiles",
    "apex": "ticks_to_apex",
    "air": "air_ticks",
    "gap": "gap_tiles",
    "top": "ticks_to_top",
    "stop": "ticks_to_stop",
    "terminal": "terminal_px_per_s",
}
OPTIONS = {name: f"--{field.replace('_', '-')}" for name, field in FIELDS.items()}
"""How a goal is called where it is asked for."""


def _or(value: Fraction | None, default: Fraction) -> Fraction:
    return default if value is None else value


def _ticks(seconds: Fraction, goals: Goals) -> int:
    return max(1, round(seconds * goals.tick_rate_hz))


def _rise_and_fall(goals: Goals) -> tuple[int, int]:
    """Ticks to the apex, and ticks of the fall from it to the landing; the body hangs for one tick between them."""
    if goals.air_ticks is None:
        rise = goals.ticks_to_apex or _ticks(DEFAULT_RISE_S, goals)
        return rise, max(1, round(rise * DEFAULT_FALL_SHARE))
    rise = goals.ticks_to_apex or max(1, round((goals.air_ticks - 1) / (1 + DEFAULT_FALL_SHARE)))
    return rise, goals.air_ticks - 1 - rise


def _contradictions(goals: Goals, wanted: Wanted) -> list[Problem]:
    problems = []

    def complain(name: str, found: str, allowed: str) -> None:
        problems.append(Problem("<arguments>", goals.option(name), found, allowed))

    if wanted.fall_ticks < 1:
        found = f"{goals.air_ticks} ticks in the air, {wanted.rise_ticks} of them to the apex"
        complain("air", found, f"at least {wanted.rise_ticks + 2} ticks, so that a tick is left to fall in")
    if wanted.hop_spx is not None and wanted.hop_spx > wanted.jump_spx:
        tile = goals.tile_px * SPX_PER_PX
        highest = decimal_text(wanted.jump_spx / tile)
        complain("hop", f"a least hop of {decimal_text(wanted.hop_spx / tile)} tiles", f"at most the jump's {highest}")
    if wanted.gap_spx < wanted.body_w_spx:
        found = f"a gap of {decimal_text(wanted.gap_spx / SPX_PER_PX)} px"
        complain("gap", found, f"at least the body's width, {decimal_text(Fraction(wanted.body_w_spx, SPX_PER_PX))} px")
    most = Fraction(MAX_PX_PER_TICK * SPX_PER_PX)
    if 2 * wanted.jump_spx / (wanted.rise_ticks + 1) > most:
        needed = decimal_text(2 * wanted.jump_spx / (wanted.rise_ticks + 1) / SPX_PER_PX)
        found = f"a jump that takes off with {needed} px a tick"
        complain("jump", found, f"at most {MAX_PX_PER_TICK} px a tick: a lower jump, or more ticks to the apex")
    if wanted.terminal_spx is not None and wanted.terminal_spx > most:
        found = f"{decimal_text(wanted.terminal_spx / SPX_PER_PX)} px a tick"
        complain("terminal", found, f"at most {MAX_PX_PER_TICK} px a tick")
    air = wanted.rise_ticks + 1 + max(1, wanted.fall_ticks)
    if wanted.gap_spx / air > most:
        found = f"a gap that takes {decimal_text(wanted.gap_spx / air / SPX_PER_PX)} px a tick to cross"
        complain("gap", found, f"at most {MAX_PX_PER_TICK} px a tick: a narrower gap, or more ticks in the air")
    return problems
