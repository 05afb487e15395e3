"""What changed of what was found: errors, warnings and notes: new, gone, graver, less grave or told otherwise."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
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
    """What was asked of a level on one side: no place ends it where it is `endless`; the ids of its places."""

    endless: bool
    places: Collection[str]

    def holds(self, found: Found) -> bool:
        """Return whether this, found on the other side, was looked for on this one."""
        gone = found.rule == "unreachable-goal" and found.place not in self.places
        return not (self.endless and (found.about_ending or gone))


EVERYTHING = Asked(False, ())


def found_changes(
    before: Founds,
    after: Founds,
    level: str | None,
    sure: tuple[bool, bool],
    reached: tuple[Collection[str], Collection[str]] = ((), ()),
    asked: tuple[Asked, Asked] = (EVERYTHING, EVERYTHING),
) -> Iterator[Change]:
    """Yield every finding that is not the same on both sides.

    Not to find a thing says that it is not there only on a side that is `sure`: not where nobody could enter the level,
    where a limit ended a check, or where something is undecided there, and not where it was not asked because no place
    ends the level. What is found on the other is neither, then.
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
    asked : pair of Asked
    """
    missable = [{place for found in side.values() for place in found.missable} for side in (before, after)]
    for key in dict.fromkeys([*before, *after]):
        old, new = before.get(key), after.get(key)
        if old is not None and new is not None and _told(old) == _told(new):
            continue
        if old is None and new is not None and not asked[0].holds(new):
            reason = "No place ended the level before, so it was not asked then."
            yield _change(old, new, new, level, Direction.OTHER, reason)
            continue
        if new is None and old is not None and not asked[1].holds(old):
            reason = "No place ends the level any more, so it was not asked."
            yield _change(old, new, old, level, Direction.OTHER, reason)
            continue
        ranks = [-1 if found is None or found.accepted else found.severity.rank for found in (old, new)]
        if ranks[0] != ranks[1] and max(ranks) >= _GRAVE:
            yield _grave(old, new, (before, after), level, sure)
            continue
        fresh = _freshly(new, missable[0], reached[0], sure[0])
        freed = _freshly(old, missable[1], reached[1], sure[1])
        missable[0] |= fresh  # each place counts once
        missable[1] |= freed
        if fresh or freed:
            yield _missable(old, new, level, fresh, freed)
        else:
            yield _change(old, new, new or old, level, Direction.OTHER)


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
