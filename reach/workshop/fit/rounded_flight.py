"""Launches, gravities, the cut and the terminal speed from rounded positions, as guaranteed intervals."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from reach.movement import SPX_PER_PX
from reach.workshop.fit.bands import Ref
from reach.workshop.fit.linear_laws import MAX_PIECES, Interval, Piece, Solved, agrees, solve
from reach.workshop.fit.outcome import Found, Quantity, px_interval
from reach.workshop.fit.rounded_ground import MIN_TICKS, POSITIVE, keep
from reach.workshop.fit.rounded_spans import Span
from reach.workshop.fit.rounded_track import growing_bounds
from reach.workshop.fit.stretches import Stretch, Takeoff


@dataclass(eq=False)
class Arc:
    """One flight: its vertical bounds, its unclamped pieces and its takeoff speed (px a tick), as far as known.

    Row 0 of `low` and `high` is the stretch's row `base`. `release` is the row (of the stretch) in which a held jump's
    button comes up while the body surely rises.
    """

    stretch: Stretch
    number: int
    base: int
    low: np.ndarray
    high: np.ndarray
    position: np.ndarray
    speed: Interval
    jump: bool
    rise: Piece | None = None
    fall: Piece | None = None
    release: int | None = None
    group: int | None = None


def fit_rounded_flights(
    stretches: Sequence[Stretch],
    spans: Sequence[Span],
    rounding: float,
    found: Found,
    edges: Sequence[float] | None,
) -> None:
    """Add what the vertical rules show.

    Parameters
    ----------
    stretches, spans : sequence of Stretch, Span
    rounding : float
        px.
    found : Found
    edges : sequence of float, optional
        The thresholds of the jump bands, px a tick, where they are known.
    """
    speeds = Speeds(spans)
    arcs = [arc for stretch in stretches for arc in _arcs(stretch, speeds, rounding)]
    fastest = max((float(arc.low[1:].max()) for arc in arcs if len(arc.low) > 1), default=0.0)
    for arc in arcs:
        _cut_into_pieces(arc, fastest)
    jumps = sorted((arc for arc in arcs if arc.jump and arc.rise), key=lambda arc: sum(arc.speed))
    boxes = _group_by_edges(jumps, edges, rounding) if edges else None
    if boxes is None:
        boxes = _group(jumps, rounding)
    gaps = _gaps(jumps, len(boxes), edges)
    found.counts["jump.bands"] = max(1, len(boxes))
    for index in range(max(1, len(boxes))):
        path = f"jump.bands[{index}]"
        own = [arc for arc in jumps if arc.group == index]
        rises = solve([arc.rise for arc in own if arc.rise], rounding, {"launch": POSITIVE, "held": POSITIVE})
        if rises is not None:
            keep(found, f"{path}.launch_speed", Quantity.SPEED, rises, "launch")
            keep(found, f"{path}.gravity_held", Quantity.RATE, rises, "held")
        falls = [arc.fall for arc in arcs if arc.fall and (arc in own or _surely_in(arc, index, gaps))]
        fall = solve(falls, rounding, {"rate": POSITIVE})
        if fall is not None:
            keep(found, f"{path}.gravity", Quantity.RATE, fall, "rate")
        if index and gaps:
            low, high = gaps[index - 1]
            found.add(
                f"{path}.from_takeoff_speed", Quantity.SPEED, low * SPX_PER_PX, high * SPX_PER_PX, (), threshold=True
            )
    _terminal(arcs, rounding, found)
    _release(arcs, rounding, found)


class Speeds:
    """Bounds of the speed along the ground by stretch and row."""

    def __init__(self, spans: Sequence[Span]) -> None:
        """Take the bounds from spans, of which those on the ground may be refined."""
        self.at: dict[tuple[int, int], Interval] = {}
        for span in spans:
            for row in range(1, span.ticks + 1):
                low, high = float(span.low[row]), float(span.high[row])
                self.at[id(span.stretch), span.first + row] = (max(0.0, low, -high), max(high, -low))
            if span.before[0] == span.before[1] == 0 and (id(span.stretch), span.first) not in self.at:
                self.at[id(span.stretch), span.first] = (0.0, 0.0)

    def speed(self, stretch: Stretch, row: int) -> Interval | None:
        """The speed after a row's tick, px a tick."""
        return self.at.get((id(stretch), row))

    def takeoff(self, stretch: Stretch, number: int) -> Interval | None:
        """The takeoff speed of a flight, px a tick."""
        flight = stretch.flights[number]
        if flight.kind == Takeoff.JUMP:
            return self.speed(stretch, flight.begin)
        return _walk_off_speed(stretch, self, flight.begin) if flight.kind == Takeoff.WALK_OFF else None


def _arcs(stretch: Stretch, speeds: Speeds, rounding: float) -> list[Arc]:
    y = stretch.y.astype(np.float64) / SPX_PER_PX
    arcs = []
    for number, flight in enumerate(stretch.flights):
        if flight.kind not in (Takeoff.JUMP, Takeoff.WALK_OFF):
            continue
        jump = flight.kind == Takeoff.JUMP
        base = flight.begin - 1 if jump else flight.begin + 1
        following = stretch.flights[number + 1].begin if number + 1 < len(stretch.flights) else stretch.rows
        last = (flight.end if flight.end is not None else following) - 1
        if last - base < MIN_TICKS or base < 0:
            continue
        position = y[base : last + 1]
        low, high = growing_bounds(position, rounding)
        if (low > high + 1e-9)[1:].any():
            continue
        speed = speeds.takeoff(stretch, number)
        arcs.append(Arc(stretch, number, base, low, high, position, speed or (0.0, np.inf), jump))
    return arcs


def _walk_off_speed(stretch: Stretch, speeds: Speeds, row: int) -> Interval | None:
    """The speed at a walk-off, whose tick is in doubt: known where one direction was pressed all the time around it."""
    before = next((r for r in range(row, max(0, row - 20), -1) if speeds.speed(stretch, r)), None)
    after = next((r for r in range(row + 1, min(stretch.rows, row + 20)) if speeds.speed(stretch, r)), None)
    if before is None or after is None or len(set(stretch.direction[before : after + 1].tolist())) > 1:
        return None
    one, other = speeds.at[id(stretch), before], speeds.at[id(stretch), after]
    return min(one[0], other[0]), max(one[1], other[1])


def _cut_into_pieces(arc: Arc, fastest: float) -> None:
    """Find the ticks in which the held gravity surely acts alone, and those in which the released one does."""
    stretch, rows = arc.stretch, len(arc.position)
    jump = stretch.jump[arc.base : arc.base + rows]
    begin = 0
    if arc.jump:
        down = np.flatnonzero(jump[1:] == 0)
        until = int(down[0]) if len(down) else rows - 1  # the last row whose tick still had the button down
        rising = np.flatnonzero(arc.high[1:] >= 0)
        # The held gravity acts in a tick whose button is down and whose move before was surely upward.
        slowing = int(rising[0]) + 1 if len(rising) else rows - 1
        last = min(until, slowing)
        if until >= 1 and last >= 2:
            arc.rise = _piece(arc, 0, last, {"held": 1.0}, {"launch": -1.0})
        falling = np.flatnonzero(arc.low[1:] >= 0)
        begin = min(until, int(falling[0]) + 1 if len(falling) else rows - 1)
        if 1 <= until < slowing:
            arc.release = until + 1
    capped = np.flatnonzero(arc.high[begin + 1 :] >= fastest)
    last = begin + int(capped[0]) if len(capped) else rows - 1
    if last - begin >= MIN_TICKS:
        arc.fall = _piece(arc, begin, last, {"rate": 1.0}, None)


def _piece(arc: Arc, begin: int, last: int, rate: dict[str, float], first: dict[str, float] | None) -> Piece:
    rows = np.arange(begin, last + 1)
    ticks = arc.stretch.ticks[arc.base + begin : arc.base + last + 1]
    refs = tuple(Ref(arc.stretch.take, int(tick)) for tick in ticks)
    return Piece(arc.position[rows], (rows - begin).astype(np.float64), refs, rate, first)


def _group(jumps: Sequence[Arc], rounding: float) -> list[Mapping[str, Interval]]:
    """Put jumps into bands, the longest first: a new band where a jump shares launch and gravity with none.

    A jump that could belong to several is left out of all. Bands ascend by their takeoff speeds.
    """
    boxes: list[Mapping[str, Interval]] = []
    members: list[list[Arc]] = []
    for arc in sorted(jumps, key=lambda arc: -len(arc.rise.tick) if arc.rise else 0):
        fitting = [number for number, box in enumerate(boxes) if _fits(arc, box, rounding)]
        for number in fitting:
            if len(members[number]) >= MAX_PIECES:
                members[number].append(arc)  # the longest pieces alone make the programme
                break
            joined = solve([own.rise for own in (*members[number], arc) if own.rise], rounding, boxes[number])
            if joined is not None:
                members[number].append(arc)
                boxes[number] = joined.intervals
                break
        else:
            alone = solve([arc.rise], rounding, {"launch": POSITIVE, "held": POSITIVE}) if arc.rise else None
            if alone is not None and not fitting and arc.rise and len(arc.rise.tick) > MIN_TICKS:
                boxes.append(alone.intervals)
                members.append([arc])
    # One jump between others is an outlier rather than a band.
    kept = [number for number, own in enumerate(members) if len(own) > 1 or len(members) == 1]
    # The threshold between two bands lies above the surest lower ends below it, and below the upper ends above it.
    kept.sort(key=lambda n: max(arc.speed[0] for arc in members[n]) + min(arc.speed[1] for arc in members[n]))
    boxes, members = [boxes[number] for number in kept], [members[number] for number in kept]
    for number, own in enumerate(members):
        others = [box for other, box in enumerate(boxes) if other != number]
        for arc in own:
            if not any(_fits(arc, box, rounding) for box in others):
                arc.group = number
    return boxes


def _fits(arc: Arc, box: Mapping[str, Interval], rounding: float) -> bool:
    return arc.rise is not None and agrees(arc.rise, rounding, box)


def _group_by_edges(
    jumps: Sequence[Arc], edges: Sequence[float], rounding: float
) -> list[Mapping[str, Interval]] | None:
    """Put jumps into known bands; None where those do not explain the jumps."""
    boxes: list[Mapping[str, Interval]] = []
    ends = [*edges[1:], np.inf]
    for number, (low, high) in enumerate(zip(edges, ends, strict=True)):
        own = [arc for arc in jumps if arc.speed[0] >= low and arc.speed[1] < high]
        solved = solve([arc.rise for arc in own if arc.rise], rounding, {"launch": POSITIVE, "held": POSITIVE})
        if own and solved is None:
            for arc in jumps:
                arc.group = None
            return None
        for arc in own:
            arc.group = number
        boxes.append({} if solved is None else solved.intervals)
    return boxes


def _gaps(jumps: Sequence[Arc], count: int, edges: Sequence[float] | None) -> list[Interval]:
    """The threshold above each band but the last: between the fastest takeoff below and the slowest above."""
    gaps = []
    for number in range(count - 1):
        below = max((arc.speed[0] for arc in jumps if arc.group is not None and arc.group <= number), default=0.0)
        above = min((arc.speed[1] for arc in jumps if arc.group is not None and arc.group > number), default=np.inf)
        gaps.append((below, above))
    return gaps


def _surely_in(arc: Arc, index: int, gaps: Sequence[Interval]) -> bool:
    low = gaps[index - 1][1] if index else 0.0
    high = gaps[index][0] if index < len(gaps) else np.inf
    return arc.speed[0] >= low and arc.speed[1] <= high and (not arc.jump)


def _terminal(arcs: Sequence[Arc], rounding: float, found: Found) -> None:
    """The falling speed that surely stopped growing."""
    slowest = [
        interval[0]
        for index in range(found.counts["jump.bands"])
        if (interval := px_interval(found, f"jump.bands[{index}].gravity"))
    ]
    if not slowest:
        return
    pieces = []
    fastest = 0.0
    for arc in arcs:
        best = -np.inf
        for row in range(1, len(arc.position)):
            falling = arc.low[row - 1] >= 0 if row > 1 else False
            best = max(best + min(slowest), float(arc.low[row])) if falling else float(arc.low[row])
            if falling and best > arc.high[row] + 1e-9 and len(arc.position) - 1 - row >= MIN_TICKS:
                pieces.append(_piece(arc, row, len(arc.position) - 1, {}, {"top": 1.0}))
                break
        fastest = max(fastest, float(arc.low[1:].max()))
    solved = solve(pieces, rounding, {"top": (fastest, np.inf)})
    if solved is not None:
        keep(found, "fall.terminal_speed", Quantity.SPEED, solved, "top")


def _release(arcs: Sequence[Arc], rounding: float, found: Found) -> None:
    """What letting go does: the move in the tick of the release, against what gravity alone would make of it."""
    cuts: list[Interval] = []
    cut_refs, free_refs = [], []
    fastest = 0.0
    for arc in arcs:
        if arc.release is None or arc.fall is None or arc.group is None:
            continue
        launch, held, gravity = (
            px_interval(found, f"jump.bands[{arc.group}].{name}")
            for name in ("launch_speed", "gravity_held", "gravity")
        )
        if launch is None or held is None or gravity is None:
            continue
        steps = arc.release - 2
        before = (-launch[1] + held[0] * steps, -launch[0] + held[1] * steps)
        after = _first_move(arc.fall, gravity, rounding)
        if after is None:
            continue
        ref = Ref(arc.stretch.take, int(arc.stretch.ticks[arc.base + arc.release]))
        if after[0] > before[1] + gravity[1] + 1e-9:
            cuts.append((gravity[0] - after[1], gravity[1] - after[0]))
            cut_refs.append(ref)
        elif after[1] < -rounding / 4:
            free_refs.append(ref)
            fastest = max(fastest, -before[1])
    if len(cuts) > 1:
        low, high = max(0.0, *(cut[0] for cut in cuts)), min(cut[1] for cut in cuts)
        if low <= high:
            solved = Solved({"cut": (low, high)}, tuple(cut_refs))
            found.add("jump.on_release.cut_speed", Quantity.SPEED, low * SPX_PER_PX, high * SPX_PER_PX, solved.refs)
    elif not cuts and len(free_refs) > 1:
        found.seen["jump.on_release"] = fastest * SPX_PER_PX
        found.add("jump.on_release", Quantity.CHOICE, 0, 0, tuple(free_refs))


def _first_move(piece: Piece, rate: Interval, rounding: float) -> Interval | None:
    """The interval of a piece's first move."""
    own = Piece(piece.position, piece.tick, piece.refs, piece.rate, {"move": 1.0})
    solved = solve([own], rounding, {"rate": rate})
    return None if solved is None else solved.intervals["move"]
