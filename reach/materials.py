"""What a tile can be made of: one row a material."""

from __future__ import annotations

from dataclasses import dataclass

from reach.kernels.params import EMPTY, HAZARD, ONE_WAY, SOLID, SPRING


@dataclass(frozen=True)
class Material:
    """One tile material (motion model, section 2).

    `code` is its number in kernels. `symbols` are the characters that draw it in every map, the usual one first.
    `blocks`: from the side and from below. `carries`: a body can stand on it. `hurts`: touching it loses the body.
    `launches`: it throws a body that it carries, and a level must say how fast. `holds_places`: a place may be on it.
    """

    name: str
    code: int
    symbols: str
    blocks: bool = False
    carries: bool = False
    hurts: bool = False
    launches: bool = False
    holds_places: bool = False


MATERIALS = (
    Material("empty", EMPTY, ". ", holds_places=True),
    Material("solid", SOLID, "#", blocks=True, carries=True),
    Material("one_way", ONE_WAY, "=", carries=True, holds_places=True),
    Material("hazard", HAZARD, "^", hurts=True),
    Material("spring", SPRING, "", blocks=True, carries=True, launches=True),
)
"""Every material; the row with code n stands at index n."""

BY_NAME = {material.name: material for material in MATERIALS}
"""The materials by the name that level files use."""
