"""What changed of what was found: errors, warnings and notes: new, gone, graver, less grave or told otherwise."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from reach.comparison.changes import Change, Direction, Kind
from reach.findings import Severity
from reach.wording import list_words

if TYPE_CHECKING:
    from reach.comparison.side import Found, FoundKey

BY_SEVERITY = {Severity.ERROR: Kind.ERROR, Severity.WARNING: Kind.WARNING, Severity.NOTE: Kind.NOTE}
"""The kinds of changes that findings are."""
_GRAVE = Severity.WARNING.rank
"""From here on what is new is worse, and what is gone better."""

Founds = Mapping["FoundKey", "Found"]


@dataclass(frozen=True)
class Asked:
    """What was asked of a level on one side: no place ends it where it is `endless`; the ids of its places.

    `barred`: some ending is proved reachable on the other side alone. What is about endings weighs less here then, or
    is not found, because of that.
    """

    endless: bool
    places: Collection[str]
    barred: bool = False


def found_changes(
    before: Founds,
    after: Founds,
    level: str | None,
    sure: tuple[bool, bool],
    reached: tuple[Collection[str], Collection[str]] = ((), ()),
    asked: tuple[Asked, Asked] | None = None,
) -> Iterator[Change]:
    """Yield every finding that is not the same on both sides.

    Not to find a thing says that it is not there only on a side that is `sure`: not where nobody could enter the level,
    where a limit ended a check, or where something is undecided there, and not where it was not asked because no place
    ends the level or its place is deleted. What is found on the other is neither, then. Nor is what is about endings
    better where none is proved reachable any more, or worse for one being reached again.
    Notes are neither as well, unless a place that was reached, and not missable, is missable now.

    Parameters
    ----------
    before, after : mapping of FoundKey to Found
    level : str or None
        None: the world.
    sure : pair of bool
        Whether not to find a thing says that it is not there.
    reached : pair of collections of str
        The places of the level that are proved reachable, before and after.
    asked : pair of Asked, optional
        None: everything.
    """
    missable = [{place for found in side.values() for place in found.missable} for side in (before, after)]
    for key in dict.fromkeys([*before, *after]):
        old, new = before.get(key), after.get(key)
        if old is not None and new is not None and _told(old) == _told(new):
            continue
        if why := _not_asked(old, new, asked):
            yield _change(old, new, new or old, level, Direction.OTHER, why)
            continue
        ranks = [-1 if found is None or found.accepted else found.severity.rank for found in (old, new)]
        if ranks[0] != ranks[1] and max(ranks) >= _GRAVE:
            yield _of_ending(_grave(old, new, (before, after), level, sure), old or new, asked)
            continue
        fresh = _freshly(new, missable[0], reached[0], sure[0])
        freed = _freshly(old, missable[1], reached[1], sure[1])
        missable[0] |= fresh  # each place counts once
        missable[1] |= freed
        if fresh or freed:
            yield _of_ending(_missable(old, new, level, fresh, freed), old or new, asked)
        else:
            yield _change(old, new, new or old, level, Direction.OTHER)


def _not_asked(old: Found | None, new: Found | None, asked: tuple[Asked, Asked] | None) -> str:
    """Why what was found on one side alone was not asked on the other; "" where it was."""
    if asked is None or (old is not None and new is not None):
        return ""
    there = asked[1].places  # none where the level was not checked
    if old is not None and old.place is not None and there and old.place not in there:
        return "Its place is not there any more, so it was not asked."
    if old is not None:
        return "No place ends the level any more, so it was not asked." if asked[1].endless and old.about_ending else ""
    assert new is not None
    added = new.rule == "unreachable-goal" and new.place not in asked[0].places
    if asked[0].endless and (new.about_ending or added):
        return "No place ended the level before, so it was not asked then."
    return ""


def _of_ending(change: Change, found: Found | None, asked: tuple[Asked, Asked] | None) -> Change:
    """Return the change, neither better nor worse where it only follows from endings lost or won."""
    if asked is None or found is None or not found.about_ending:
        return change
    if change.direction is Direction.BETTER and asked[1].barred:
        reason = "That is because no ending is proved reachable any more."
    elif change.direction is Direction.WORSE and asked[0].barred:
        reason = "That is because no ending was proved reachable before."
    else:
        return change
    return replace(change, direction=Direction.OTHER, reason=reason)


def _told(found: Found) -> tuple[object, ...]:
    return found.severity, found.accepted, found.undecided, found.message


def _freshly(found: Found | None, other: Collection[str], reached: Collection[str], sure: bool) -> set[str]:
    """The places that a note calls missable, and that on the other side were reached and surely not missable."""
    if found is None or found.accepted or not sure:
        return set()
    return (set(found.missable) - set(other)) & set(reached)


def _missable(old: Found | None, new: Found | None, level: str | None, fresh: set[str], freed: set[str]) -> Change:
    places = fresh or freed
    about = new if fresh else old
    assert about is not None
    return Change(
        Kind.MISSABLE,
        Direction.WORSE if fresh else Direction.BETTER,
        level,
        None,
        f"{_title(about)}, by which {list_words(sorted(places))} can be missed for good",
        _standing_words(old),
        _standing_words(new),
        "" if new is None else about.message,
        min(places),
        () if about.at is None else (about.at,),
        amount=len(places),
    )


def _grave(
    old: Found | None, new: Found | None, sides: tuple[Founds, Founds], level: str | None, sure: tuple[bool, bool]
) -> Change:
    """Tell of an error or warning that is new, gone, graver or less grave."""
    ranks = [-1 if found is None or found.accepted else found.severity.rank for found in (old, new)]
    worse = ranks[1] > ranks[0]
    graver, less, other = (new, old, sides[0]) if worse else (old, new, sides[1])
    assert graver is not None
    if less is not None and less.accepted:
        proved = worse  # to accept a thing does not take it away
    elif less is not None:
        proved = not (less.undecided or graver.undecided)
    else:
        proved = sure[0 if worse else 1] and not _in_doubt(graver, other)
    if graver.undecided and not worse:
        proved = False  # that a doubt is gone says nothing of the level
    direction = Direction.OTHER if not proved else Direction.WORSE if worse else Direction.BETTER
    return _change(old, new, graver, level, direction)


def _change(
    old: Found | None, new: Found | None, about: Found | None, level: str | None, direction: Direction, reason: str = ""
) -> Change:
    """Say what became of a finding; of one that is gone not what it said, for that holds no more."""
    assert about is not None
    return Change(
        BY_SEVERITY[about.severity],
        direction,
        level,
        None,
        _title(about),
        _standing_words(old),
        _standing_words(new),
        "" if new is None else about.message,
        about.place,
        () if about.at is None else (about.at,),
        in_doubt=about.undecided,
        reason=reason,
    )


def _in_doubt(found: Found, other: Founds) -> bool:
    """Whether one of the two is a doubt about what the other is: the other side's findings where this was found."""
    there = [each for each in other.values() if each.where == found.where and each.severity.rank >= _GRAVE]
    return any(each.undecided or found.undecided for each in there)


def _standing_words(found: Found | None) -> str | None:
    return None if found is None else "accepted" if found.accepted else found.severity.value


def _title(found: Found) -> str:
    where = f" {'of' if found.place else 'on'} {found.where}" if found.where else ""
    return f"{found.severity} {found.rule}{where}"
