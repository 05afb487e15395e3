"""How messages say tiles, footholds and numbers, so that every rule says them alike."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from reach.findings import Move, Tile
    from reach.reachability.result import Foothold


def tile_words(tile: Tile) -> str:
    """Return `tile 6,1`: column, then row, as `--to` takes it."""
    return f"tile {tile[0]},{tile[1]}"


def foothold_words(foothold: Foothold) -> str:
    """Return `the foothold on row 9, columns 3 to 7` (or the spring there)."""
    first, last = foothold.columns
    columns = f"column {first}" if first == last else f"columns {first} to {last}"
    return f"the {'spring' if foothold.is_spring else 'foothold'} on row {foothold.row}, {columns}"


def move_words(move: Move) -> str:
    """Return `the jump from tile 3,9 to tile 7,8`."""
    return f"the {move.kind.replace('_', '-')} from {tile_words(move.source)} to {tile_words(move.target)}"


def count_words(number: int, noun: str) -> str:
    """Return `1 tick`, `2 ticks`."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def number_words(value: float, digits: int = 1) -> str:
    """Return a number rounded to at most `digits` decimals, with no trailing zeros."""
    text = f"{value:.{digits}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


def list_words(words: Sequence[str]) -> str:
    """Return `a`, `a and b`, `a, b and c`."""
    if len(words) <= 1:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"
