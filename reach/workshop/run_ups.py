"""The shortest ledge, in whole px, from which a gap is still crossed: enough by a script, too short by proof."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from reach.workshop.bounds import Bound
from reach.workshop.gap_limits import over_limits

if TYPE_CHECKING:
    from reach.kernels.params import Motion
    from reach.workshop.gap_scripts import Flights

SPX = 65536

MOST_EXPLORATIONS = 24
"""So many lengths of a ledge are explored at most; what is not settled by then keeps two bounds."""


@dataclass
class _Search:
    """What is known of one gap, px: a length proved too short, the least not proved so, how often it was not."""

    gap_spx: int
    enough: int
    too_short: int
    open: int
    failures: int = 0

    def probe(self) -> int | None:
        """The length to explore next, None where nothing is left to find out."""
        if self.open - self.too_short <= 1:
            return None
        if self.too_short == 0:
            return max(1, self.open - (1 << self.failures))
        return (self.open + self.too_short) // 2

    def learn(self, px: int, over_gap_spx: int) -> None:
        """Take in what an exploration from a ledge of so many px gave."""
        if not self.too_short < px < self.open:
            return
        if over_gap_spx < self.gap_spx:
            self.too_short = px
        else:
            self.open = px
            self.failures += 1


def shortest_ledges(
    motion: Motion,
    flights: Flights,
    heights_spx: Sequence[int],
    gaps_spx: Mapping[int, int],
    *,
    deadline: float | None = None,
    tell: Callable[[float], None] = lambda done: None,
) -> dict[int, Bound]:
    """Return how long the near ledge has to be for some gaps.

    Parameters
    ----------
    motion : Motion
    flights : Flights
        The scripts, for these heights.
    heights_spx : sequence of int
        As of `over_limits`.
    gaps_spx : mapping of int to int
        The gap at the height of an index. Those that no script crosses are left out of the result.
    deadline : float, optional
        `time.monotonic()` value at which to give up.
    tell : callable, optional
        Told which part of the work is done, 0 to 1.

    Returns
    -------
    dict of int to Bound
        By the index of the height, whole px: a ledge of `at_most_spx` is enough (a script has room on it), one that is
        1 px shorter than `at_least_spx` is proved too short.
    """
    searches: dict[int, _Search] = {}
    for height, gap in gaps_spx.items():
        crossing = flights.shortest(height, gap)
        if crossing is not None:
            px = -(-crossing.ledge_spx // SPX)
            searches[height] = _Search(gap, px, 0, px)
    for explored in range(MOST_EXPLORATIONS):
        probes = {height: probe for height, each in searches.items() if (probe := each.probe()) is not None}
        if not probes or (deadline is not None and time.monotonic() >= deadline):
            break
        tell(explored / MOST_EXPLORATIONS)
        # the longest first: what it proves too short for one gap it often does for others
        longest = max(probes.values())
        over = over_limits(motion, longest * SPX, [heights_spx[height] for height in probes], deadline=deadline)
        if over.why:
            break
        for height, over_gap in zip(probes, over.gaps_spx, strict=True):
            searches[height].learn(longest, over_gap)
    return {height: Bound((search.too_short + 1) * SPX, search.enough * SPX) for height, search in searches.items()}
