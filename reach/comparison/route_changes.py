"""What changed of a level's easiest route: the windows of its moves, how long the script to its end takes, its moves.

Windows are lower bounds: the largest that was measured. One that is said to be at least so long is narrower than no
other, and nothing is narrower than it that is longer than it was measured to be. The narrowest of a route is compared
with that of another only where both lead to the same place and every move was measured on the side where it is wider.
Narrower is worse only below the threshold from which on a window counts as tight, and wider is better only where it
was below: far above nobody feels a tick.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import TYPE_CHECKING

from reach.comparison.changes import Change, Direction, Kind
from reach.wording import count_words, move_words, number_words

if TYPE_CHECKING:
    from reach.comparison.side import CheckSide
    from reach.findings import Move

DECIMALS = 6
"""Of a window in ms, as reports keep them."""
MOST_MOVES = 6


def route_changes(before: CheckSide, after: CheckSide, tight_ms: float) -> Iterator[Change]:
    """Yield what changed of the easiest route; windows count where they are shorter than `tight_ms`."""
    if before.route_to is None or after.route_to is None:
        if before.route_to != after.route_to:
            title, ends = "where the easiest route leads", (before.route_to, after.route_to)
            yield Change(Kind.ROUTE, Direction.OTHER, None, None, title, *ends, amount=0)
        return
    told = [*_windows(before, after, tight_ms), *_length(before, after)]
    yield from told
    if not told and _flown(before) != _flown(after):
        title, counts = "moves of the easiest route", (len(before.route), len(after.route))
        yield Change(Kind.ROUTE, Direction.OTHER, None, None, title, *counts, _first_other(before, after), amount=0)


def _flown(side: CheckSide) -> list[tuple[object, ...]]:
    """What is compared of a route, move by move."""
    return [(move.source, move.target, move.kind, move.air_ticks, _ms(move), move.window_open) for move in side.route]


def _first_other(before: CheckSide, after: CheckSide) -> str:
    """Say where two routes begin to differ."""
    for one, two, old, new in zip(before.route, after.route, _flown(before), _flown(after), strict=False):
        if old != new:
            words = [f"{move_words(move)}, {move.air_ticks} ticks in the air, {_window(move)}" for move in (one, two)]
            return f"First to differ: {words[0]} before; {words[1]} after."
    return "One goes on where the other ends."


def width_order(before: Move, after: Move) -> int:
    """Return -1 where the second window is narrower, 1 where it is wider, 0 where neither can be said."""
    old, new = _ms(before), _ms(after)
    if old is None or new is None or old == new:
        return 0
    if new < old:
        return 0 if after.window_open else -1
    return 0 if before.window_open else 1


def _ms(move: Move) -> float | None:
    return None if move.window_ms is None else round(move.window_ms, DECIMALS)


def tightest(route: tuple[Move, ...]) -> Move | None:
    """Return the move with the narrowest measured window, the first of several; None where none is measured."""
    measured = [move for move in route if move.window_ms is not None]
    return min(measured, key=lambda move: (move.window_ms or 0.0, move.window_open), default=None)


def _windows(before: CheckSide, after: CheckSide, tight_ms: float) -> Iterator[Change]:
    old, new = tightest(before.route), tightest(after.route)
    if old is None or new is None:
        return
    known = {(move.source, move.target): move for move in reversed(before.route)}
    pairs = [(known[move.source, move.target], move) for move in after.route if (move.source, move.target) in known]
    changed = [(width_order(*pair), *pair) for pair in pairs if width_order(*pair)]
    order = width_order(old, new) or min((which for which, _, _ in changed), default=0)
    if not order:
        return
    changed.sort(key=lambda one: (one[0], (_ms(one[2]) or 0.0) - (_ms(one[1]) or 0.0)))
    words = [f"{move_words(two)}: {_window(one)} before, {_window(two)} after" for _, one, two in changed]
    more = f"; {len(words) - MOST_MOVES} more" if len(words) > MOST_MOVES else ""
    narrowest = f"Narrowest measured: {move_words(old)} before, {move_words(new)} after."
    same = (old.source, old.target) == (new.source, new.target)
    parts = [] if same else [narrowest]
    if words:
        listed = "; ".join(words[:MOST_MOVES]) + more
        parts.append(f"{listed[:1].upper()}{listed[1:]}.")
    unmeasured = [sum(move.window_ms is None for move in route) for route in (before.route, after.route)]
    if any(unmeasured):
        parts.append(f"Not measured: {count_words(unmeasured[0], 'move')} before, {unmeasured[1]} after.")
    # The narrowest of a route is known where all of it is measured, and says something of another to the same place.
    known_wider = before.route_to == after.route_to and not unmeasured[0 if order < 0 else 1]
    narrower = [two for which, _, two in changed if which < 0]
    wider = [one for which, one, _ in changed if which > 0]
    if known_wider and width_order(old, new):
        (narrower if width_order(old, new) < 0 else wider).append(new if width_order(old, new) < 0 else old)
    tight, tight_before = ([move for move in some if (_ms(move) or 0.0) < tight_ms] for some in (narrower, wider))
    direction = Direction.BETTER if order > 0 and known_wider and tight_before else Direction.OTHER
    if order < 0 and tight:
        direction = Direction.WORSE
    if narrower and not tight:
        parts.append(f"Not tight: none that is narrower is under {number_words(tight_ms)} ms.")
    if wider and not tight_before:
        parts.append(f"Not tight before: none that is wider was under {number_words(tight_ms)} ms.")
    about = tightest(tuple(tight)) or new
    lost = sum(max(0.0, (_ms(one) or 0.0) - (_ms(two) or 0.0)) for which, one, two in changed if which < 0)
    yield Change(
        Kind.WINDOW,
        direction,
        None,
        None,
        "narrowest window of the easiest route (measured)",
        _ms(old),
        _ms(new),
        " ".join(parts),
        tiles=(about.source, about.target),
        amount=max((_ms(old) or 0.0) - (_ms(new) or 0.0), 0.0) or lost,
    )


def _window(move: Move) -> str:
    ms = _ms(move)
    return "not measured" if ms is None else f"{'at least ' if move.window_open else ''}{number_words(ms)} ms"


def _length(before: CheckSide, after: CheckSide) -> Iterator[Change]:
    """Compare the kept scripts to the place that the route leads to. None is proved to be the shortest."""
    if before.route_to != after.route_to:
        title, ends = "where the easiest route leads", (before.route_to, after.route_to)
        yield Change(Kind.ROUTE, Direction.OTHER, None, None, title, *ends, amount=0)
        return
    old, new = (side.places.get(str(side.route_to)) for side in (before, after))
    if old is None or new is None or old.ticks is None or new.ticks is None:
        return
    seconds = [Fraction(old.ticks, before.tick_rate_hz), Fraction(new.ticks, after.tick_rate_hz)]
    if seconds[0] == seconds[1]:
        return
    moves = [count_words(len(side.route), "move") for side in (before, after)]
    rates = (before.tick_rate_hz, after.tick_rate_hz)
    per_s = "" if rates[0] == rates[1] else f" Ticks a second: {rates[0]} before, {rates[1]} after."
    message = f"The easiest route has {moves[0]} before, {moves[1]} after.{per_s}"
    title = f"ticks of the script to {after.route_to}"
    difference_ms = 1000 * abs(float(seconds[1] - seconds[0]))
    yield Change(Kind.ROUTE, Direction.OTHER, None, None, title, old.ticks, new.ticks, message, amount=difference_ms)
