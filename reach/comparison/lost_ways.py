"""Why a level cannot be entered any more: the exits and links, of levels that still can be, that were lost."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import TYPE_CHECKING

from reach.findings import Verdict
from reach.wording import list_words

if TYPE_CHECKING:
    from reach.comparison.side import Side
    from reach.world.result import Spot


def lost_ways(level: str, before: Side, after: Side, closed: Collection[str]) -> str:
    """Return with what the way into a level was lost, as a sentence; "" where no link led there.

    Parameters
    ----------
    level : str
    before, after : Side
    closed : collection of str
        All levels of which the way in was lost: a link that leads from one of these is a consequence itself.
    """
    words = list(dict.fromkeys(_told(source, before, after) for source in _roots(level, before, after, closed)))
    return f"Lost with {list_words(words)}." if words else ""


def _roots(level: str, before: Side, after: Side, closed: Collection[str]) -> Iterator[Spot]:
    """Yield the exits that were lost first, following links back through levels that are closed as well."""
    waiting, seen = [level], {level}
    while waiting:
        target = waiting.pop(0)
        for source, link in before.links.items():
            if link.target[0] != target or link.verdict is not Verdict.REACHABLE:
                continue
            if source[0] in closed:
                if source[0] not in seen:
                    seen.add(source[0])
                    waiting.append(source[0])
                continue
            now = after.links.get(source)
            if now is None or now.target != link.target or now.verdict is not Verdict.REACHABLE:
                yield source


def _told(source: Spot, before: Side, after: Side) -> str:
    level, place = source
    now = after.links.get(source)
    if now is None:
        return f"the link from {level}/{place}, which is not there any more"
    if now.target != before.links[source].target:
        return f"the link from {level}/{place}, which leads to {'/'.join(now.target)} now"
    return f"the exit {place} of {level}"
