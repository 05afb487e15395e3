"""What changed in one level: whether it can be entered, its places and its ground, from each entrance and from all."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import groupby
from typing import TYPE_CHECKING

from reach.comparison.changes import Change, Direction, Kind
from reach.comparison.route_changes import route_changes
from reach.findings import PlaceVerdict, Tile, Verdict
from reach.wording import count_words, list_words

if TYPE_CHECKING:
    from reach.comparison.side import LevelSide

ENDINGS = ("goal", "exit")
"""Kinds of places that count as goals, whether they are required or not."""
BEST_FIRST = (Verdict.REACHABLE, Verdict.UNDECIDED, Verdict.UNREACHABLE)

Tiles = Mapping[Verdict, frozenset[Tile]]


def level_changes(
    before: LevelSide, after: LevelSide, must_reach: Collection[str], tight_ms: float, lost_with: str = ""
) -> Iterator[Change]:
    """Yield what changed in a level that is there, and was checked, before and after.

    From an entrance that was checked on both sides everything is compared. Where some entrance was checked on one side
    only, so are the places and the ground as reached from any entrance, for what that does not tell.

    Parameters
    ----------
    before, after : LevelSide
    must_reach : collection of str
        Places of the level that the world says must be reached.
    tight_ms : float
        A window shorter than this is tight.
    lost_with : str
        With what the way into the level was lost, as a sentence.
    """
    if before.entered is not after.entered:
        yield _entering(before, after, lost_with)
    old_places, new_places = _places_of_all(before), _places_of_all(after)
    if old_places and new_places:
        endless = (before.endless, after.endless)
        moved = list(_came_and_went(old_places, new_places, endless))
        if all(change.kind is not Kind.GOAL for change in moved):
            moved += _ending(before, after)
        yield from (replace(change, level=after.id) for change in moved)
    told: set[tuple[str | None, Direction]] = set()
    ground: dict[Direction, set[Tile]] = {direction: set() for direction in Direction}
    for entrance, old in before.checks.items():
        new = after.checks.get(entrance)
        if new is None:
            continue
        found = [
            *_place_changes(old.places, new.places, must_reach, _reached_elsewhere(after, entrance)),
            *_ground_change(old.tiles, new.tiles),
            *route_changes(old, new, tight_ms),
        ]
        for change in found:
            told.add((change.place, change.direction))
            ground[change.direction].update(change.tiles)
            yield replace(change, level=after.id, entrance=entrance)
    if before.checks.keys() != after.checks.keys() and before.checks and after.checks:
        for change in _place_changes(old_places, new_places, must_reach, {}):
            if (change.place, change.direction) not in told:
                yield replace(change, level=after.id)
        for change in _ground_change(_ground_of_all(before), _ground_of_all(after)):
            if not ground[change.direction].issuperset(change.tiles):
                yield replace(change, level=after.id)


def _entering(before: LevelSide, after: LevelSide, lost_with: str) -> Change:
    """Say what happened to the way into a level."""
    message = lost_with
    if before.entered is Verdict.REACHABLE and not after.checks:
        places = sum(place.verdict is Verdict.REACHABLE for place in _places_of_all(before).values())
        ground = len(_ground_of_all(before)[Verdict.REACHABLE])
        gone = f"{count_words(places, 'place')} and {count_words(ground, 'tile')} of ground in it go with it."
        message = f"{message} {gone}".strip()
    return Change(
        Kind.LEVEL,
        direction_of(before.entered, after.entered),
        after.id,
        None,
        f"the way into {after.id}",
        before.entered.value,
        after.entered.value,
        message,
    )


def direction_of(before: Verdict, after: Verdict) -> Direction:
    """Return which way a verdict on what is to be reached went.

    To lose a proof of `reachable` is worse, whatever comes after it. Better is only what was proved not to be: what was
    undecided may have been reachable all along.
    """
    if before is Verdict.REACHABLE and after is not Verdict.REACHABLE:
        return Direction.WORSE
    return Direction.BETTER if (before, after) == (Verdict.UNREACHABLE, Verdict.REACHABLE) else Direction.OTHER


def _place_changes(
    before: Mapping[str, PlaceVerdict],
    after: Mapping[str, PlaceVerdict],
    must_reach: Collection[str],
    elsewhere: Mapping[str, str],
) -> Iterator[Change]:
    """Yield what became of the places of both; `elsewhere` names another entrance from which one is reached after."""
    for name, new in after.items():
        old = before.get(name)
        if old is None or old.verdict is new.verdict:
            continue
        direction = direction_of(old.verdict, new.verdict)
        closed = new.must_be == Verdict.UNREACHABLE
        kind = Kind.GOAL if not closed and (new.kind in ENDINGS or new.required or name in must_reach) else Kind.PLACE
        message = ""
        if closed:
            message = "It is meant to stay out of reach."
            mirrored = {Direction.WORSE: Direction.BETTER, Direction.BETTER: Direction.WORSE}
            doubt = Verdict.UNDECIDED in (old.verdict, new.verdict)
            direction = Direction.OTHER if doubt else mirrored[direction]
        elif direction is Direction.WORSE and name in elsewhere:
            kind = Kind.PLACE
            message = f"From {elsewhere[name]} it is reached."
        title = f"{new.kind} {name}{', required' if new.required else ''}"
        yield Change(kind, direction, None, None, title, old.verdict.value, new.verdict.value, message, name)


def _came_and_went(
    before: Mapping[str, PlaceVerdict], after: Mapping[str, PlaceVerdict], endless: tuple[bool, bool]
) -> Iterator[Change]:
    """Yield the places of one side alone.

    That is an edit, and neither better nor worse by itself, unless the level could be ended and cannot be any more, or
    the other way round.
    """
    for one, other, message in ((before, after, "It is not there any more."), (after, before, "It was not there.")):
        lost = one is before
        decisive = endless == ((False, True) if lost else (True, False))
        for place in one.values():
            if place.id not in other:
                old, new = (place.verdict.value, None) if lost else (None, place.verdict.value)
                change = Change(
                    Kind.PLACE, Direction.OTHER, None, None, f"{place.kind} {place.id}", old, new, message, place.id
                )
                wanted = (place.kind in ENDINGS or place.required) and place.must_be != Verdict.UNREACHABLE
                if decisive and wanted and place.verdict is Verdict.REACHABLE:
                    change = _of_ending(change, lost)
                yield change


def _ending(before: LevelSide, after: LevelSide) -> Iterator[Change]:
    """Yield that no place ends the level any more, or that one does now, where the places are the same."""
    if before.endless is not after.endless:
        lost = after.endless
        able = any(check.route_to is not None for check in (before if lost else after).checks.values())
        ends = (Verdict.REACHABLE.value, None) if lost else (None, Verdict.REACHABLE.value)
        if able:
            yield _of_ending(Change(Kind.GOAL, Direction.OTHER, None, None, "an end of the level", *ends), lost)


def _of_ending(change: Change, lost: bool) -> Change:
    """Return the change as one by which the level can be ended no more, or can be now."""
    if lost:
        reason, direction = "No place ends the level any more: nobody can end it.", Direction.WORSE
    else:
        reason, direction = "No place ended the level before: nobody could end it.", Direction.BETTER
    return replace(change, kind=Kind.GOAL, direction=direction, reason=reason)


def _reached_elsewhere(level: LevelSide, entrance: str) -> dict[str, str]:
    """Return the places that are reached from an entrance other than this, and from which first."""
    reached: dict[str, str] = {}
    for other, check in level.checks.items():
        for name, place in check.places.items():
            if other != entrance and place.verdict is Verdict.REACHABLE:
                reached.setdefault(name, other)
    return reached


@dataclass(frozen=True)
class GroundChange:
    """Ground by what became of it.

    `lost` was reachable and, while still there, is not; `gained` the other way round; either is `for_certain` where the
    other verdict is unreachable. `removed` and `added` are ground
    that is there on one side alone; of them `removed_reached` was reachable.
    """

    lost: frozenset[Tile]
    lost_for_certain: frozenset[Tile]
    gained: frozenset[Tile]
    gained_for_certain: frozenset[Tile]
    doubt: frozenset[Tile]
    removed: frozenset[Tile]
    added: frozenset[Tile]


def ground_change(before: Tiles, after: Tiles) -> GroundChange:
    """Return what became of the ground to stand on, tile by tile where it is there on both sides."""
    old, new = (frozenset().union(*tiles.values()) for tiles in (before, after))
    yes, out, open_ = Verdict.REACHABLE, Verdict.UNREACHABLE, Verdict.UNDECIDED
    lost, gained = (before[yes] - after[yes]) & new, (after[yes] - before[yes]) & old
    return GroundChange(
        lost=lost,
        lost_for_certain=lost & after[out],
        gained=gained,
        gained_for_certain=gained & before[out],
        doubt=(before[open_] & after[out]) | (before[out] & after[open_]),
        removed=old - new,
        added=new - old,
    )


def _ground_change(before: Tiles, after: Tiles) -> Iterator[Change]:
    """Yield what became of the ground, in one change."""
    what = ground_change(before, after)
    told = what.lost or what.gained or what.doubt or what.removed | what.added
    if not told:
        return
    parts = []
    unsure, may_be_old = len(what.lost - what.lost_for_certain), len(what.gained - what.gained_for_certain)
    if what.lost:
        parts.append(f"Lost: {spans(what.lost)}." + (f" Of it {unsure} undecided." if unsure else ""))
    if what.gained:
        parts.append(
            f"Gained: {spans(what.gained)}." + (f" Of it {may_be_old} undecided before." if may_be_old else "")
        )
    if what.doubt:
        parts.append(f"Undecided on one side and out of reach on the other: {spans(what.doubt)}.")
    for tiles, words in ((what.removed, "not there any more"), (what.added, "not there before")):
        if tiles:
            parts.append(f"Ground {words}: {spans(tiles)}.")
    direction = Direction.WORSE if what.lost else Direction.BETTER if what.gained_for_certain else Direction.OTHER
    amounts = [f"{len(tiles)} {word}" for tiles, word in ((what.lost, "lost"), (what.gained, "gained")) if tiles]
    if unsure:
        amounts[0] += f" ({unsure} undecided)"
    if may_be_old:
        amounts[-1] += f" ({may_be_old} undecided before)"
    yield Change(
        Kind.TILES,
        direction,
        None,
        None,
        f"ground: {', '.join(amounts) or count_words(len(told), 'tile')}",
        len(before[Verdict.REACHABLE]),
        len(after[Verdict.REACHABLE]),
        " ".join(parts),
        tiles=reading_order(told),
        amount=len(what.lost),
        in_doubt=unsure > 0 and not what.lost_for_certain,
    )


MOST_SPANS = 8


def spans(tiles: Collection[Tile]) -> str:
    """Return where tiles are, stretch by stretch: `row 3, columns 4 to 9 and row 5, column 2`."""
    words = []
    for row, of_row in groupby(reading_order(tiles), key=lambda tile: tile[1]):
        columns = [column for column, _ in of_row]
        for _, numbered in groupby(enumerate(columns), key=lambda pair: pair[1] - pair[0]):
            run = [column for _, column in numbered]
            words.append(f"row {row}, column{f' {run[0]}' if len(run) == 1 else f's {run[0]} to {run[-1]}'}")
    if len(words) > MOST_SPANS:
        words = [*words[:MOST_SPANS], f"{len(words) - MOST_SPANS} more stretches"]
    return list_words(words) if len(words) < 2 else f"{'; '.join(words[:-1])}; and {words[-1]}"


def reading_order(tiles: Collection[Tile]) -> tuple[Tile, ...]:
    """Return tiles by row, then column."""
    return tuple(sorted(tiles, key=lambda tile: (tile[1], tile[0])))


def _places_of_all(level: LevelSide) -> dict[str, PlaceVerdict]:
    """Return each place with the best verdict from any entrance."""
    best: dict[str, PlaceVerdict] = {}
    for check in level.checks.values():
        for name, place in check.places.items():
            known = best.get(name)
            if known is None or BEST_FIRST.index(place.verdict) < BEST_FIRST.index(known.verdict):
                best[name] = place
    return best


def _ground_of_all(level: LevelSide) -> dict[Verdict, frozenset[Tile]]:
    """Return each tile under its best verdict from any entrance."""
    left: dict[Verdict, frozenset[Tile]] = {}
    taken: frozenset[Tile] = frozenset()
    for verdict in BEST_FIRST:
        left[verdict] = frozenset().union(*(check.tiles[verdict] for check in level.checks.values())) - taken
        taken |= left[verdict]
    return left
