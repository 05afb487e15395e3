"""Comparing two sides: levels by their id, links by the exit that they lead from, findings by what they are about."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from math import inf
from typing import TYPE_CHECKING, Any

import reach
from reach.comparison.changes import Change, Comparison, Direction, Kind, LevelStanding
from reach.comparison.found_changes import Asked, found_changes
from reach.comparison.level_changes import direction_of, level_changes
from reach.comparison.lost_ways import lost_ways
from reach.errors import InputError, Problem
from reach.findings import Verdict

if TYPE_CHECKING:
    from reach.comparison.side import LevelSide, Side
    from reach.findings import PlaceVerdict

DIRECTIONS = tuple(Direction)
KINDS = tuple(Kind)
LIMITS = {"memory_limit_mib", "time_limit_s"}
"""Options that end a check early, and change nothing of what counts as a finding."""
OF_ENTERING = (Kind.LEVEL, Kind.ERROR, Kind.WARNING)
"""Kinds of changes that may say of a level no more than that it cannot be entered."""
TIGHT = "window_threshold_ms"
"""The option that says which windows are tight; without it, every one that is narrower is worse."""


def compare(before: Side, after: Side) -> Comparison:
    """Return everything that changed, worst first.

    A level of one side alone is named and makes nothing worse: of it there is nothing to compare.

    Parameters
    ----------
    before, after : Side

    Raises
    ------
    InputError
        If the two cannot be compared: a world with a folder, a level with either, other entrances of one level,
        other options than limits, or no level is there on both sides.
    """
    require_alike((before.linked, before.single), (after.linked, after.single))
    require_same_options(before.options, after.options)
    _require_one_entrance(before, after)
    pairs = _pairs(before, after)
    if not pairs:
        found = f"no level that is there before and after, in {before.name} and {after.name}"
        raise InputError([Problem("<arguments>", "", found, "two with some level of the same name in both")])
    broken = {new.id: _failure(old, new) for old, new in pairs if old.failed or new.failed}
    sound = [(old, new) for old, new in pairs if new.id not in broken]
    changes = [*_of_world(before, after, sound)]
    threshold_ms = after.options.get(TIGHT)
    tight_ms = inf if threshold_ms is None else threshold_ms
    for old, new in sound:
        must_reach = {place for side in (before, after) for level, place in side.must_reach if level == new.id}
        lost_with = lost_ways(new.id, before, after, _closed(sound)) if new.id in _closed(sound) else ""
        changes += level_changes(old, new, must_reach, tight_ms, lost_with)
        changes += _found_in_level(old, new)
    order = {level.id: index for index, (_, level) in enumerate(pairs)}
    shut = _merely_shut(sound, changes)
    changes.sort(key=lambda change: (DIRECTIONS.index(change.direction), change.level in shut, *_weight(change, order)))
    standings = [_standing(old, new, changes) for old, new in sound]
    return Comparison(
        product=f"reach {reach.__version__}",
        name=after.name,
        movements=(tuple(before.movements), tuple(after.movements)),
        changes=tuple(changes),
        levels=tuple(sorted(standings, key=lambda one: [one.level in shut, *(-one.worse[kind] for kind in KINDS)])),
        only_before=_only(before, after),
        only_after=_only(after, before),
        not_compared=broken,
        unfinished=sum(not check.complete for pair in sound for side in pair for check in side.checks.values()),
        remarks=tuple(_remarks(before, after, sound)),
    )


def require_alike(before: tuple[bool, bool], after: tuple[bool, bool]) -> None:
    """Refuse two sides that are not of one kind; each is told as whether it has links and whether it is one level.

    Raises
    ------
    InputError
        If they are not.
    """
    kinds = [
        "one level" if single else "a world with links" if linked else "a folder of levels"
        for linked, single in (before, after)
    ]
    if kinds[0] != kinds[1]:
        raise InputError([Problem("<arguments>", "", f"{kinds[0]} before and {kinds[1]} after", "two of one kind")])


def require_same_options(before: Mapping[str, Any], after: Mapping[str, Any]) -> None:
    """Refuse options of checks that differ in what counts as a finding; limits may differ.

    Raises
    ------
    InputError
        If they do.
    """
    differ = sorted(name for name in {*before, *after} - LIMITS if before.get(name) != after.get(name))
    if differ:
        found = ", ".join(f"{name} {before.get(name)} before and {after.get(name)} after" for name in differ)
        raise InputError([Problem("<arguments>", "", found, "two that are checked with the same")])


def _require_one_entrance(before: Side, after: Side) -> None:
    old, new = (next(iter(side.levels.values())).checks for side in (before, after))
    if before.single and old and new and old.keys() != new.keys():
        found = f"a level from {next(iter(old))} before and from {next(iter(new))} after"
        raise InputError([Problem("<arguments>", "", found, "one level twice, from one entrance")])


def _pairs(before: Side, after: Side) -> list[tuple[LevelSide, LevelSide]]:
    """Return the levels of both sides, in the order of the second."""
    if before.single:
        return [(next(iter(before.levels.values())), next(iter(after.levels.values())))]
    return [(before.levels[name], level) for name, level in after.levels.items() if name in before.levels]


def _only(one: Side, other: Side) -> tuple[str, ...]:
    return () if one.single else tuple(name for name in one.levels if name not in other.levels)


def _failure(old: LevelSide, new: LevelSide) -> str:
    whys = {"before": old.failed, "after": new.failed}
    return "; ".join(f"{when}: {why}" for when, why in whys.items() if why)


def _of_world(before: Side, after: Side, sound: list[tuple[LevelSide, LevelSide]]) -> Iterator[Change]:
    """Yield what changed between the levels: links, and what was found in the world as a whole."""
    names = {new.id for _, new in sound}
    closed = _closed(sound)
    for source in dict.fromkeys([*before.links, *after.links]):
        old, new = before.links.get(source), after.links.get(source)
        if source[0] not in names or source[0] in closed or (old and new and old == new):
            continue
        there = new or old
        assert there is not None
        title = f"link from {'/'.join(source)} to {'/'.join(there.target)}"
        same = old is not None and new is not None and old.target == new.target
        direction = direction_of(old.verdict, new.verdict) if old and new and same else Direction.OTHER
        message = "" if same else "It is new." if old is None else "It is not there any more."
        if old and new and not same:
            message = f"It led to {'/'.join(old.target)} before."
        was, now = (None if link is None else link.verdict.value for link in (old, new))
        yield Change(Kind.LINK, direction, source[0], None, title, was, now, message, source[1])
    sure = (_finished(before), _finished(after))
    for level in ["", *(new.id for _, new in sound)]:
        yield from found_changes(before.found.get(level, {}), after.found.get(level, {}), level or None, sure)


def _closed(sound: list[tuple[LevelSide, LevelSide]]) -> set[str]:
    """The levels of which the way in was lost."""
    return {new.id for old, new in sound if direction_of(old.entered, new.entered) is Direction.WORSE}


def _merely_shut(sound: list[tuple[LevelSide, LevelSide]], changes: Iterable[Change]) -> set[str]:
    """The levels of which the way in was lost, and nothing in them."""
    worse = (change for change in changes if change.direction is Direction.WORSE)
    return _closed(sound) - {change.level for change in worse if change.kind not in OF_ENTERING}


def _found_in_level(old: LevelSide, new: LevelSide) -> Iterator[Change]:
    """Yield what changed of what was found in a level; no note is new or gone where nobody could look for it."""
    reached = [
        {name for check in side.checks.values() for name, place in check.places.items() if _is_reached(place)}
        for side in (old, new)
    ]
    looked = bool(old.checks and new.checks)
    asked = (_asked(old, new), _asked(new, old))
    sure = (old.complete, new.complete)
    for change in found_changes(old.found, new.found, new.id, sure, (reached[0], reached[1]), asked):
        if looked or change.kind is not Kind.NOTE:
            yield change


def _asked(level: LevelSide, other: LevelSide) -> Asked:
    places = {name for check in level.checks.values() for name in check.places}
    ends, ended = (
        {entrance for entrance, check in side.checks.items() if check.route_to is not None} for side in (level, other)
    )
    barred = bool(ended) and (not ends or any(entrance in level.checks for entrance in ended - ends))
    return Asked(level.endless, places, barred)


def _is_reached(place: PlaceVerdict) -> bool:
    return place.verdict is Verdict.REACHABLE


def _finished(side: Side) -> bool:
    """Whether no check of it failed or was ended by a limit; what follows from all levels is known only then."""
    return all(
        not level.failed and all(one.complete for one in level.checks.values()) for level in side.levels.values()
    )


def _weight(change: Change, order: Mapping[str, int]) -> tuple[object, ...]:
    return (
        KINDS.index(change.kind),
        -change.amount,
        order.get(change.level or "", -1),
        change.entrance or "",
        change.title,
    )


def _standing(old: LevelSide, new: LevelSide, changes: list[Change]) -> LevelStanding:
    own = [change for change in changes if change.level == new.id]
    worse = Counter(change.kind for change in own if change.direction is Direction.WORSE)
    return LevelStanding(
        new.id,
        (old.movement_name, new.movement_name),
        {direction: sum(change.direction is direction for change in own) for direction in Direction},
        {kind: worse[kind] for kind in Kind},
    )


def _remarks(before: Side, after: Side, sound: list[tuple[LevelSide, LevelSide]]) -> Iterator[str]:
    """Yield what else the reader has to know: another version or limits, edits, checks that a limit ended."""
    if before.product != after.product:
        yield f"made by another version: {before.product} before, {after.product} after"
    options = sorted(
        name for name in {*before.options, *after.options} if before.options.get(name) != after.options.get(name)
    )
    for name in options:
        yield f"checked with another {name}: {before.options.get(name)} before, {after.options.get(name)} after"
    for name in dict.fromkeys(new.movement_name for old, new in sound if old.movement_name == new.movement_name):
        named = ((old, new) for old, new in sound if old.movement_name == new.movement_name == name)
        if any(_differ(old, new, "movement_sha256") for old, new in named):
            yield f"the movement {name} is not the same before and after, though its name is"
    edited = [new.id for old, new in sound if _differ(old, new, "level_sha256")]
    if edited:
        yield f"edited, and compared tile by tile at the same column and row: {', '.join(edited)}"
    for old, new in sound:
        for when, level in (("before", old), ("after", new)):
            for entrance, check in level.checks.items():
                if not check.complete:
                    yield f"not finished {when}: {new.id} from {entrance}: {check.incomplete_why}"


def _differ(old: LevelSide, new: LevelSide, what: str) -> bool:
    """Whether checks before and after were of different things, as their SHA-256 tell."""
    told = [{getattr(check, what) for check in side.checks.values()} for side in (old, new)]
    return bool(told[0] and told[1]) and told[0] != told[1]
