"""The few colours of a film: exact where they matter, nearest elsewhere, and the same in every frame."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from PIL import Image

COLOURS = 128

_UNKNOWN = -1


class FilmPalette:
    """The colours most used in some sample frames.

    Parameters
    ----------
    samples : sequence of PIL.Image.Image
        RGB. Ties go to the darker colour, so that equal films get equal palettes.
    """

    def __init__(self, samples: Sequence[Image.Image]) -> None:
        """Count the samples' colours."""
        packed = np.concatenate([_packed(sample).ravel() for sample in samples])
        colours, numbers = np.unique(packed, return_counts=True)
        most_used = colours[np.lexsort((colours, -numbers))][:COLOURS]
        self._colours = np.stack([most_used >> 16, most_used >> 8 & 255, most_used & 255], axis=1).astype(np.int64)
        self._index_of = np.full(1 << 24, _UNKNOWN, dtype=np.int16)
        self._index_of[most_used] = np.arange(len(most_used))

    def apply(self, frame: Image.Image) -> Image.Image:
        """The frame in these colours, each pixel in the nearest, without dithering: what stands still stays still."""
        packed = _packed(frame)
        index = self._index_of[packed]
        new = np.unique(packed[index == _UNKNOWN])
        if len(new):
            for start in range(0, len(new), 4096):
                self._learn(new[start : start + 4096])
            index = self._index_of[packed]
        picture = Image.fromarray(index.astype(np.uint8))
        picture.putpalette(self._colours.astype(np.uint8).tobytes())
        return picture

    def _learn(self, packed: np.ndarray) -> None:
        parts = np.stack([packed >> 16, packed >> 8 & 255, packed & 255], axis=1).astype(np.int64)
        away = ((parts[:, None, :] - self._colours[None, :, :]) ** 2).sum(axis=2)
        self._index_of[packed] = away.argmin(axis=1)


def _packed(frame: Image.Image) -> np.ndarray:
    """Every pixel as one number, red highest."""
    parts = np.asarray(frame).astype(np.uint32)
    return (parts[..., 0] << 16) | (parts[..., 1] << 8) | parts[..., 2]
