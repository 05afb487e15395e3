"""The tables of a movement sheet as words and numbers, for the text and for the picture.

A number is rounded so that it never promises more than was found: what can be crossed downward, what is needed upward.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor
from typing import TYPE_CHECKING

from reach.wording import count_words, number_words
from reach.workshop.reach_table import height_words

if TYPE_CHECKING:
    from reach.workshop.bounds import Bound
    from reach.workshop.ground_speeds import Change
    from reach.workshop.jump_arcs import Arc, TakeoffBand
    from reach.workshop.reach_table import ReachRow
    from reach.workshop.sheet import MovementSheet

SPX = 65536
NOTHING = "-"
"""Stands where there is no figure."""

Rounding = Callable[[Fraction], int]


@dataclass(frozen=True)
class SheetTable:
    """One table; `groups` are headings over so many columns each, the first `left` columns are words."""

    title: str
    groups: tuple[tuple[str, int], ...]
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...] = ()
    left: int = 1


class SheetNumbers:
    """How a sheet's numbers are written."""

    def __init__(self, sheet: MovementSheet) -> None:
        """Take the units of a sheet."""
        self.tile_spx = sheet.tile_px * SPX
        self.rate = sheet.tick_rate_hz

    def px(self, spx: int | None, rounding: Rounding = round) -> str:
        """Return a length in px, two decimals."""
        return NOTHING if spx is None else _decimals(Fraction(spx, SPX), rounding)

    def tiles(self, spx: int | None, rounding: Rounding = round) -> str:
        """Return a length in tiles, two decimals."""
        return NOTHING if spx is None else _decimals(Fraction(spx, self.tile_spx), rounding)

    def both(self, spx: int | None, rounding: Rounding = round) -> tuple[str, str]:
        """Return a length in px and in tiles."""
        return self.px(spx, rounding), self.tiles(spx, rounding)

    def needed(self, spx: int | None) -> tuple[str, str]:
        """Return the length of a foothold in px and in tiles; any foothold is a subpixel long."""
        return ("any", "any") if spx == 1 else self.both(spx, ceil)

    def bound(self, bound: Bound | None, down: bool) -> tuple[str, str]:
        """Return a length between two bounds in px and in tiles, the outer ends of both where they differ."""
        if bound is None:
            return NOTHING, NOTHING
        if bound.is_exact:
            return self.both(bound.at_least_spx, floor if down else ceil)
        least, most = self.both(bound.at_least_spx, floor), self.both(bound.at_most_spx, ceil)
        return f"{least[0]}..{most[0]}", f"{least[1]}..{most[1]}"

    def whole_tiles(self, bound: Bound) -> str:
        """Return how many whole tiles are crossed or climbed, both ends where the bounds allow more than is proved."""
        if bound.at_least_spx is None:
            return NOTHING
        least = bound.at_least_spx // self.tile_spx
        most = least if bound.at_most_spx is None else bound.at_most_spx // self.tile_spx
        return str(least) if most == least else f"{least}..{most}"

    def ledge(self, bound: Bound | None) -> tuple[str, str]:
        """Return the length of a ledge, known to the px, in px and in tiles."""
        px, tiles = self.bound(bound, down=False)
        return px.replace(".00", ""), tiles

    def ms(self, ticks: int) -> str:
        """Return the length of some ticks in whole ms."""
        return str(round(Fraction(1000 * ticks, self.rate)))

    def speed(self, spx_per_tick: int) -> str:
        """Return a speed in px a second."""
        return number_words(float(Fraction(spx_per_tick * self.rate, SPX)))


def title(sheet: MovementSheet) -> str:
    """Return what the sheet is about, on one line."""
    numbers = SheetNumbers(sheet)
    body = f"body {_short(sheet.body_w_spx)} x {_short(sheet.body_h_spx)} px"
    fall = f"falls at most {numbers.speed(sheet.terminal_spx_per_tick)} px/s"
    return f"{body}, tiles of {sheet.tile_px} px, {count_words(sheet.tick_rate_hz, 'tick')} a second, {fall}"


def window_words(sheet: MovementSheet) -> str:
    """Return the sheet's window: `a window of 4 ticks (67 ms)`."""
    return f"a window of {count_words(sheet.window_ticks, 'tick')} ({SheetNumbers(sheet).ms(sheet.window_ticks)} ms)"


def tables(sheet: MovementSheet) -> tuple[SheetTable, ...]:
    """Return the sheet's tables, in the order of the page."""
    return reach_table(sheet), ground_table(sheet), jump_table(sheet), landing_table(sheet), headroom_table(sheet)


def ground_table(sheet: MovementSheet) -> SheetTable:
    """Return ticks and distances of speeding up, coasting, reversing and turning round."""
    numbers = SheetNumbers(sheet)
    rows = []
    for gait in sheet.ground_speeds:
        name = f"{gait.gait}, {numbers.speed(gait.top_speed_spx_per_tick)} px/s"
        for words, change in (
            ("rest to top speed", gait.to_top),
            ("coasting to rest", gait.coasting),
            ("reversing to rest", gait.reversing),
            ("turning to top speed back", gait.turning),
        ):
            rows.append((name, words, *_change_cells(numbers, change)))
            name = ""
    note = "Turning: the distance is how far the body still goes the old way. Each begins with the tick of the press."
    return SheetTable("On level ground", (), ("", "", "ticks", "ms", "px", "tiles"), tuple(rows), (note,), left=2)


def _change_cells(numbers: SheetNumbers, change: Change | None) -> tuple[str, ...]:
    if change is None:
        return (NOTHING,) * 4
    return str(change.ticks), numbers.ms(change.ticks), *numbers.both(change.distance_spx)


def jump_table(sheet: MovementSheet) -> SheetTable:
    """Return heights, ticks and landing speeds of the jumps of each takeoff band."""
    numbers = SheetNumbers(sheet)
    rows = []
    for band in sheet.takeoff_bands:
        name = band_words(numbers, band)
        for words, arc in (("held", band.held), ("tapped", band.tapped), ("let go before", band.buffered)):
            if arc is not None or words != "let go before":
                rows.append((name, words, *_arc_cells(numbers, arc)))
                name = ""
    notes = ["Tapped: the button is down for one tick."]
    if any(band.buffered is not None for band in sheet.takeoff_bands):
        notes.append("Let go before: pressed and let go before touching down, for the jump buffer.")
    if any(band.is_reached is False for band in sheet.takeoff_bands):
        notes.append("*: walking and running from rest never take off at such a speed.")
    if any(band.is_reached is None for band in sheet.takeoff_bands):
        notes.append("?: whether walking and running ever take off at such a speed was not decided.")
    if any(_is_higher(band.tapped, band.held) for band in sheet.takeoff_bands):
        notes.append("A tapped jump is higher than a held one: gravity is weaker with the button up.")
    columns = ("takeoff speed, px/s", "button", "px", "tiles", "apex", "fall", "air", "air ms", "landing px/s")
    groups = (("", 2), ("height", 2), ("ticks", 3), ("", 2))
    return SheetTable("Jumps", groups, columns, tuple(rows), (" ".join(notes),), left=2)


def band_words(numbers: SheetNumbers, band: TakeoffBand) -> str:
    """Return the takeoff speeds of a band in px a second."""
    least = numbers.speed(band.from_spx_per_tick)
    words = f"{least} and more" if band.to_spx_per_tick is None else f"{least} to {numbers.speed(band.to_spx_per_tick)}"
    return words + {True: "", False: "*", None: "?"}[band.is_reached]


def _is_higher(one: Arc | None, other: Arc | None) -> bool:
    return one is not None and other is not None and one.height_spx > other.height_spx


def _arc_cells(numbers: SheetNumbers, arc: Arc | None) -> tuple[str, ...]:
    if arc is None:
        return (NOTHING,) * 7
    return (
        *numbers.both(arc.height_spx, floor),
        str(arc.apex_ticks),
        str(arc.fall_ticks),
        str(arc.air_ticks),
        numbers.ms(arc.air_ticks),
        numbers.speed(arc.landing_speed_spx_per_tick),
    )


def reach_table(sheet: MovementSheet) -> SheetTable:
    """Return the widest gaps by height."""
    numbers = SheetNumbers(sheet)
    table = sheet.reach
    rows = tuple(_reach_cells(numbers, row) for row in table.rows)
    step, _ = numbers.bound(table.step_up, down=True)
    whole = numbers.whole_tiles(table.step_up)
    notes = [
        f"From rest anywhere on a ledge of {table.ledge_spx // numbers.tile_spx} tiles with a wall behind it, by any "
        "input; whoever lands may be at full speed.",
        f"Highest step up: {step} px ({whole} in whole tiles). Ledge: how long the near ledge must be for the gap of "
        "whole tiles, rounded up to a px; a px less is too short.",
        f"With {window_words(sheet)}: so many ticks in a row do for press, hold and steering; at least this wide. "
        "An average over players, no promise that a given player can do it, and none of accessibility.",
    ]
    if any(not bound.is_exact for row in table.rows for bound in (row.gap, row.ledge) if bound is not None):
        notes.append("a..b: at least a and at most b is proved.")
    notes += [f"Not finished: {limit}." for limit in table.limits]
    columns = ("far ledge, tiles", "px", "tiles", "gap", "ledge px", "tiles", "px", "tiles")
    window = f"window of {count_words(sheet.window_ticks, 'tick')}"
    groups = (("", 1), ("widest gap", 2), ("in whole tiles", 3), (window, 2))
    return SheetTable("Gaps", groups, columns, rows, tuple(notes))


def _reach_cells(numbers: SheetNumbers, row: ReachRow) -> tuple[str, ...]:
    return (
        height_words(row.height_tiles),
        *numbers.bound(row.gap, down=True),
        numbers.whole_tiles(row.gap),
        *numbers.ledge(row.ledge),
        *numbers.both(row.gap_with_window_spx, floor),
    )


def landing_table(sheet: MovementSheet) -> SheetTable:
    """Return the narrowest footholds to stop on and to jump again from."""
    numbers = SheetNumbers(sheet)
    rows = tuple(
        (
            f"{landing.name}, {numbers.speed(landing.speed_spx_per_tick)} px/s",
            numbers.px(landing.braking_spx, ceil),
            *numbers.needed(landing.stop_spx),
            *numbers.needed(landing.stop_in_window_spx),
            *numbers.needed(landing.jump_spx),
            *numbers.needed(landing.jump_in_window_spx),
        )
        for landing in sheet.landings
    )
    window = f"in {count_words(sheet.window_ticks, 'tick')}"
    columns = ("landing at", "braking px", *("px", "tiles") * 4)
    groups = (("", 2), ("to stop on", 2), (window, 2), ("to jump on from", 2), (window, 2))
    note = (
        "The narrowest foothold, landed on at its first subpixel. To stop: braking at once, from one spot or from all "
        "those of so many consecutive ticks. To jump on: pressing works in one tick, or in so many, with the direction "
        "held; jump buffer and coyote time are counted in."
    )
    return SheetTable("Landings", groups, columns, rows, (note,))


def headroom_table(sheet: MovementSheet) -> SheetTable:
    """Return the lowest corridors."""
    numbers = SheetNumbers(sheet)
    rows = [("walk through", "", *_headroom_cells(numbers, sheet.headroom.walk_spx))]
    for i, band in enumerate(sheet.takeoff_bands):
        name = f"jump, takeoff {band_words(numbers, band)} px/s"
        rows.append((name, "tapped", *_headroom_cells(numbers, sheet.headroom.tapped_spx[i])))
        rows.append(("", "held", *_headroom_cells(numbers, sheet.headroom.held_spx[i])))
    hop = numbers.both(sheet.headroom.smallest_hop_spx, floor)
    note = f"The lowest ceilings that are not touched. The smallest hop is {hop[0]} px ({hop[1]} tiles) high."
    return SheetTable("Corridors", (), ("to", "button", "px", "tiles", "whole tiles"), tuple(rows), (note,), left=2)


def _headroom_cells(numbers: SheetNumbers, spx: int | None) -> tuple[str, ...]:
    if spx is None:
        return (NOTHING,) * 3
    return (*numbers.both(spx, ceil), str(-(-spx // numbers.tile_spx)))


def _decimals(value: Fraction, rounding: Rounding) -> str:
    hundredths = rounding(value * 100)
    sign = "-" if hundredths < 0 else ""
    return f"{sign}{abs(hundredths) // 100}.{abs(hundredths) % 100:02}"


def _short(spx: int) -> str:
    return number_words(spx / SPX, 2)
