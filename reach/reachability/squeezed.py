"""What a job found, made small while it is kept: numbers that resemble each other take an eighth of their room."""

from __future__ import annotations

import zlib
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from reach.reachability.exploration_job import Found

FASTEST = 1
"""The level of compression; higher ones gain little here."""

_NONE = np.zeros(0, np.uint8)


class Squeezed:
    """A `Found` with its large arrays compressed."""

    def __init__(self, found: Found) -> None:
        """Compress it."""
        self._small = replace(found, packed=_NONE, cover=_NONE, carried=_NONE)
        self._packed, self._cover, self._carried = map(_squeezed, (found.packed, found.cover, found.carried))
        self.nbytes = self._small.nbytes + sum(len(one.data) for one in (self._packed, self._cover, self._carried))

    def found(self) -> Found:
        """Return it as it was."""
        packed, cover, carried = map(_unsqueezed, (self._packed, self._cover, self._carried))
        return replace(self._small, packed=packed, cover=cover, carried=carried)


class _Array(NamedTuple):
    """A compressed array."""

    data: bytes
    dtype: np.dtype
    shape: tuple[int, ...]


def _squeezed(a: np.ndarray) -> _Array:
    return _Array(zlib.compress(np.ascontiguousarray(a).data, FASTEST), a.dtype, a.shape)


def _unsqueezed(one: _Array) -> np.ndarray:
    return np.frombuffer(bytearray(zlib.decompress(one.data)), one.dtype).reshape(one.shape)
