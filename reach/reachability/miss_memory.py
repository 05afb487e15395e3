"""Nearest misses of ground that no body gets onto, kept from one check to the next.

A miss is the least distance between all that the superset covers and where a body would stand. So it follows from the
superset, with the map on and around all that it covers (`reach.reachability.covered`), and from that ground alone.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from reach.reachability.covered import Spot, spot_of
from reach.reachability.recent import Recent

if TYPE_CHECKING:
    from reach.reachability.result import Foothold, NearestMiss

Kept = tuple["NearestMiss | None", Spot | None]
"""A miss, None where there is none, and the foothold that it comes from, None for the start."""


class MissMemory(Recent[tuple[bytes, Spot], Kept]):
    """The misses that recent checks measured."""

    def known(
        self, covered: bytes, ground: Sequence[Foothold], footholds: Sequence[Foothold]
    ) -> tuple[dict[int, NearestMiss], list[Foothold]]:
        """Return the misses of some ground that are known, by a foothold's index, and the ground of which none is.

        Parameters
        ----------
        covered : bytes
            The `covered_key` of the superset.
        ground, footholds : sequence of Foothold
            What is asked about; and all footholds.
        """
        numbered = {spot_of(foothold): foothold.index for foothold in footholds}
        misses: dict[int, NearestMiss] = {}
        unknown = []
        for foothold in ground:
            kept = self.get((covered, spot_of(foothold)))
            if kept is None:
                unknown.append(foothold)
            elif kept[0] is not None:
                misses[foothold.index] = replace(kept[0], source=-1 if kept[1] is None else numbered[kept[1]])
        return misses, unknown

    def learn(
        self,
        covered: bytes,
        ground: Sequence[Foothold],
        footholds: Sequence[Foothold],
        misses: Mapping[int, NearestMiss],
    ) -> None:
        """Keep the misses of some ground; what has none there has none at all."""
        for foothold in ground:
            miss = misses.get(foothold.index)
            source = spot_of(footholds[miss.source]) if miss is not None and miss.source >= 0 else None
            self.keep((covered, spot_of(foothold)), (miss, source))
