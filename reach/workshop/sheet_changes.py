"""What differs between the sheets of two profiles, and what that does to levels that are already built."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum, StrEnum
from itertools import zip_longest
from typing import TYPE_CHECKING, Any

from reach.workshop.reach_table import height_words

if TYPE_CHECKING:
    from reach.workshop.bounds import Bound
    from reach.workshop.ground_speeds import GroundSpeed
    from reach.workshop.landings import Landing
    from reach.workshop.reach_table import ReachRow
    from reach.workshop.sheet import MovementSheet

SPX = 65536


class Kind(StrEnum):
    """What a figure is about, in the order of how much it matters to levels."""

    REACH = "reach"
    ROOM = "room"
    FOOTHOLDS = "footholds"
    MOTION = "motion"


class Better(Enum):
    """Which way a figure helps whoever plays a level that is already built."""

    MORE = 1
    LESS = -1
    NEITHER = 0


@dataclass(frozen=True)
class FigureChange:
    """One figure that differs: None where a sheet does not have it.

    `is_proved` is False where it rests on what was found, or the proved bounds of the two sheets overlap.
    """

    kind: Kind
    name: str
    unit: str
    old: float | None
    new: float | None
    better: Better
    is_proved: bool

    @property
    def relative(self) -> float | None:
        """The change as a part of the old figure; None where there is no such part."""
        if self.old is None or self.new is None or self.old == 0:
            return None
        return (self.new - self.old) / abs(self.old)

    @property
    def verdict(self) -> str:
        """`better` or `worse` for whoever plays a level that is already built; empty where it is neither.

        That there is no way any more to a height is worse.
        """
        if self.better is Better.NEITHER:
            return ""
        if self.old is None or self.new is None:
            lost = self.new is None
            return ("worse" if lost else "better") if self.kind is Kind.REACH else ""
        return "better" if (self.new > self.old) == (self.better is Better.MORE) else "worse"


class EffectKind(StrEnum):
    """What a change does to levels that are already built: both are proved."""

    CLOSED = "closed"
    OPENED = "opened"


@dataclass(frozen=True)
class LevelEffect:
    """Something of whole tiles that could be done before and can be no more, or the other way round."""

    kind: EffectKind
    what: str


@dataclass(frozen=True)
class SheetChanges:
    """All differences of two sheets with the same options: those with the largest effect on levels first."""

    old: MovementSheet
    new: MovementSheet
    effects: tuple[LevelEffect, ...]
    figures: tuple[FigureChange, ...]


def compare_sheets(old: MovementSheet, new: MovementSheet) -> SheetChanges:
    """Return what differs between two sheets.

    Parameters
    ----------
    old, new : MovementSheet
        With the same side of a tile and the same window.

    Returns
    -------
    SheetChanges
        Figures in the order of `Kind`, in each the largest relative change first.

    Raises
    ------
    ValueError
        If the sheets were made with different options.
    """
    if (old.tile_px, old.window_ms) != (new.tile_px, new.window_ms):
        raise ValueError("sheets with different options cannot be compared")
    figures = [figure for figure in _Figures(old, new).all() if figure.old != figure.new]
    order = list(Kind)
    figures.sort(key=lambda each: (order.index(each.kind), -_size(each)))
    return SheetChanges(old, new, tuple(_effects(old, new)), tuple(figures))


def _size(figure: FigureChange) -> float:
    return float("inf") if figure.relative is None else abs(figure.relative)


class _Figures:
    """Pairs the figures of two sheets, in the order of the page."""

    def __init__(self, old: MovementSheet, new: MovementSheet) -> None:
        self.old = old
        self.new = new
        self.in_ms = old.tick_rate_hz != new.tick_rate_hz

    def all(self) -> Iterator[FigureChange]:
        yield self._bound("highest step up", self.old.reach.step_up, self.new.reach.step_up, Better.MORE)
        rows = {row.height_tiles: row for row in self.old.reach.rows}
        others = {row.height_tiles: row for row in self.new.reach.rows}
        for height in sorted({*rows, *others}, reverse=True):
            yield from self._row(height, rows.get(height), others.get(height))
        yield from self._room()
        for pair in zip_longest(self.old.landings, self.new.landings):
            yield from self._landing(*pair)
        yield from self._motion()

    def _row(self, height: int, old: ReachRow | None, new: ReachRow | None) -> Iterator[FigureChange]:
        where = height_words(height)
        yield self._bound(f"widest gap, {where}", _of(old, "gap"), _of(new, "gap"), Better.MORE)
        yield self._length(
            Kind.REACH,
            f"gap with a window, {where}",
            _of(old, "gap_with_window_spx"),
            _of(new, "gap_with_window_spx"),
            Better.MORE,
            is_proved=False,
        )
        if old and new and old.whole_tiles == new.whole_tiles:
            # for gaps of different widths the run-ups are not comparable
            yield self._bound(f"ledge for {old.whole_tiles} tiles, {where}", old.ledge, new.ledge, Better.LESS)

    def _room(self) -> Iterator[FigureChange]:
        old, new = self.old, self.new
        yield self._length(
            Kind.ROOM, "corridor to walk through", old.headroom.walk_spx, new.headroom.walk_spx, Better.LESS
        )
        yield self._length(Kind.ROOM, "body's width", old.body_w_spx, new.body_w_spx, Better.NEITHER)
        hops = old.headroom.smallest_hop_spx, new.headroom.smallest_hop_spx
        yield self._length(Kind.ROOM, "smallest hop", *hops, Better.LESS)
        for number, (band, other) in enumerate(zip_longest(old.takeoff_bands, new.takeoff_bands), 1):
            for button in ("held", "tapped", "buffered"):
                one, two = _of(band, button), _of(other, button)
                name = f"jump height, {_BUTTONS[button]}, takeoff band {number}"
                heights = _of(one, "height_spx"), _of(two, "height_spx")
                yield self._length(Kind.ROOM, name, *heights, Better.MORE if button == "held" else Better.NEITHER)

    def _landing(self, old: Landing | None, new: Landing | None) -> Iterator[FigureChange]:
        name = (old or new).name  # type: ignore[union-attr]
        for what, field in (
            ("foothold to stop on", "stop_spx"),
            ("foothold to stop on in a window", "stop_in_window_spx"),
            ("foothold to jump on from in a window", "jump_in_window_spx"),
        ):
            lengths = _of(old, field), _of(new, field)
            yield self._length(Kind.FOOTHOLDS, f"{what}, {name}", *lengths, Better.LESS)

    def _motion(self) -> Iterator[FigureChange]:
        old, new = self.old, self.new
        yield self._speed("terminal speed", old.terminal_spx_per_tick, new.terminal_spx_per_tick)
        for gait, other in zip_longest(old.ground_speeds, new.ground_speeds):
            yield from self._gait(gait, other)
        for number, (band, mate) in enumerate(zip_longest(old.takeoff_bands, new.takeoff_bands), 1):
            name = f"takeoff band {number}"
            if number > 1:
                starts = _of(band, "from_spx_per_tick"), _of(mate, "from_spx_per_tick")
                yield self._speed(f"takeoff speed from which {name} holds", *starts)
            for button in ("held", "tapped", "buffered"):
                one, two = _of(band, button), _of(mate, button)
                for what, field in (("to the apex", "apex_ticks"), ("in the air", "air_ticks")):
                    words = f"ticks {what}, {_BUTTONS[button]}, {name}"
                    yield self._ticks(words, _of(one, field), _of(two, field))

    def _gait(self, old: GroundSpeed | None, new: GroundSpeed | None) -> Iterator[FigureChange]:
        gait = (old or new).gait  # type: ignore[union-attr]
        yield self._speed(f"{gait}'s top speed", _of(old, "top_speed_spx_per_tick"), _of(new, "top_speed_spx_per_tick"))
        for what, field in (
            ("rest to top speed", "to_top"),
            ("coasting to rest", "coasting"),
            ("reversing to rest", "reversing"),
            ("turning", "turning"),
        ):
            one, two = _of(old, field), _of(new, field)
            yield self._ticks(f"{gait}, {what}", _of(one, "ticks"), _of(two, "ticks"))
            lengths = _of(one, "distance_spx"), _of(two, "distance_spx")
            yield self._length(Kind.MOTION, f"{gait}, {what}", *lengths, Better.NEITHER)

    def _bound(self, name: str, old: Bound | None, new: Bound | None, better: Better) -> FigureChange:
        """A bound's proved side; two bounds surely differ where they do not overlap."""
        ends = [(each.at_least_spx, each.at_most_spx) if each else (None, None) for each in (old, new)]
        (low, high), (other_low, other_high) = ends
        apart = (high is not None and other_low is not None and high < other_low) or (
            other_high is not None and low is not None and other_high < low
        )
        missing = old is None or new is None
        values = (high, other_high) if better is Better.LESS else (low, other_low)
        return self._length(Kind.REACH, name, *values, better, is_proved=apart or missing)

    def _length(
        self, kind: Kind, name: str, old: int | None, new: int | None, better: Better, *, is_proved: bool = True
    ) -> FigureChange:
        px = [None if spx is None else spx / SPX for spx in (old, new)]
        return FigureChange(kind, name, "px", px[0], px[1], better, is_proved)

    def _speed(self, name: str, old: int | None, new: int | None) -> FigureChange:
        rates = self.old.tick_rate_hz, self.new.tick_rate_hz
        speeds = [None if v is None else v * rate / SPX for v, rate in zip((old, new), rates, strict=True)]
        return FigureChange(Kind.MOTION, name, "px/s", speeds[0], speeds[1], Better.NEITHER, True)

    def _ticks(self, name: str, old: int | None, new: int | None) -> FigureChange:
        rates = self.old.tick_rate_hz, self.new.tick_rate_hz
        if not self.in_ms:
            return FigureChange(Kind.MOTION, name, "ticks", old, new, Better.NEITHER, True)
        ms = [None if n is None else n * 1000 / rate for n, rate in zip((old, new), rates, strict=True)]
        return FigureChange(Kind.MOTION, name, "ms", ms[0], ms[1], Better.NEITHER, True)


_BUTTONS = {"held": "held", "tapped": "tapped", "buffered": "let go before"}


def _of(thing: object | None, field: str) -> Any:
    """A field of what may be missing."""
    return None if thing is None else getattr(thing, field)


def _effects(old: MovementSheet, new: MovementSheet) -> Iterator[LevelEffect]:
    """What is proved of gaps, steps and corridors of whole tiles, the two sheets' tiles being the same."""
    tile = old.tile_px * SPX
    yield from _step_effects(old.reach.step_up, new.reach.step_up, tile)
    before = {row.height_tiles: row.gap for row in old.reach.rows}
    after = {row.height_tiles: row.gap for row in new.reach.rows}
    for height in sorted({*before, *after}, reverse=True):
        if height in before and height in after:
            where = "on level ground" if height == 0 else f"to a ledge {height_words(height)}"
            for kind, tiles in _crossing_effects(before[height], after[height], tile):
                yield LevelEffect(kind, f"a gap of {tiles} {where}")
    walks = [-(-sheet.headroom.walk_spx // tile) for sheet in (old, new)]
    if walks[0] != walks[1]:
        kind = EffectKind.CLOSED if walks[1] > walks[0] else EffectKind.OPENED
        yield LevelEffect(kind, f"a corridor {_tiles(min(walks), max(walks) - 1)} high")


def _step_effects(old: Bound, new: Bound, tile: int) -> Iterator[LevelEffect]:
    for kind, tiles in _crossing_effects(old, new, tile):
        yield LevelEffect(kind, f"a step of {tiles} up")


def _crossing_effects(old: Bound, new: Bound, tile: int) -> Iterator[tuple[EffectKind, str]]:
    """What was proved possible before and is proved impossible now, and the other way round, in whole tiles."""
    for kind, could, cannot in ((EffectKind.CLOSED, old, new), (EffectKind.OPENED, new, old)):
        if could.at_least_spx is not None and cannot.at_most_spx is not None:
            most, least = could.at_least_spx // tile, cannot.at_most_spx // tile + 1
            if least <= most:
                yield kind, _tiles(least, most)


def _tiles(least: int, most: int) -> str:
    """Return `8 tiles` or `7 to 8 tiles`."""
    if least == most:
        return f"{most} tile" if most == 1 else f"{most} tiles"
    return f"{least} to {most} tiles"
