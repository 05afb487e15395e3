"""Nearest misses of ground that no body gets onto, kept from one check to the next.

A miss is the least distance between all that the superset covers and where a body would stand. So it follows from the
superset, with the map on and around all that it covers (`reach.reachability.covered`), and from that ground alone.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from reach.reachability.covered import Spot, spot_of
from reach.reachability.recent import Recent
from reach.reachability.result import NearestMiss

if TYPE_CHECKING:
    from reach.reachability.result import Foothold

Kept = tuple[NearestMiss | None, Spot | None]
"""A miss, None where there is none, and the foothold that it comes from, None for the start."""

Misses = dict[int, NearestMiss]


class MissMemory(Recent[tuple[bytes, Spot], Kept]):
    """The misses that recent checks measured."""

    def find(
        self,
        covered: bytes,
        ground: Sequence[Foothold],
        footholds: Sequence[Foothold],
        measure: Callable[[Sequence[Foothold]], tuple[Misses, str]],
    ) -> tuple[Misses, str]:
        """Return the miss of each foothold of `ground` that has one, by its index, and which limit was hit.

        Parameters
        ----------
        covered : bytes
            The `covered_key` of the superset.
        ground, footholds : sequence of Foothold
            What is asked about; and all footholds.
        measure : callable
            Gives the same for other ground, asked only about what is not known.
        """
        known = {foothold.index: self.get((covered, spot_of(foothold))) for foothold in ground}
        unknown = [foothold for foothold in ground if known[foothold.index] is None]
        misses: Misses = {}
        if unknown:
            misses, why = measure(unknown)
            if why:
                return {}, why
            for foothold in unknown:
                miss = misses.get(foothold.index)
                source = spot_of(footholds[miss.source]) if miss is not None and miss.source >= 0 else None
                self.keep((covered, spot_of(foothold)), (miss, source))
        numbered = {spot_of(foothold): foothold.index for foothold in footholds}
        for index, kept in known.items():
            if kept is not None and kept[0] is not None:
                source = kept[1]
                misses[index] = replace(kept[0], source=-1 if source is None else numbered[source])
        return misses, ""
