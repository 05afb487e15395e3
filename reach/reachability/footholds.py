"""Footholds and standable tiles: where a body can be carried at all, before asking whether it can get there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reach.kernels.intervals import foothold_table, standable_table
from reach.reachability.result import Foothold

if TYPE_CHECKING:
    import numpy as np

    from reach.kernels.params import Motion, Terrain


def find_footholds(motion: Motion, terrain: Terrain) -> tuple[Foothold, ...]:
    """Every maximal x interval in which the body is carried, free of blocking tiles, hazards and ending places.

    Parameters
    ----------
    motion : Motion
    terrain : Terrain

    Returns
    -------
    tuple of Foothold
        Sorted by row, then left end; `index` counts them. Spots that overlap a spring make footholds of their own.
    """
    return tuple(
        Foothold(
            index=index,
            row=int(row),
            left_spx=int(left),
            right_spx=int(right),
            is_spring=bool(spring),
            columns=(int(first), int(last)),
        )
        for index, (row, left, right, spring, first, last) in enumerate(foothold_table(motion, terrain).tolist())
    )


def standable_tiles(motion: Motion, terrain: Terrain) -> np.ndarray:
    """Tiles that carry and on which a body can be.

    Returns
    -------
    bool [rows, columns]
        True where some x exists with the feet line on the tile's top, the body overlapping its column and overlapping
        no blocking tile and no hazard.
    """
    return standable_table(motion, terrain)
