"""A PNG picture: one pixel a tile, with a mapping that tells what each colour stands for."""

from __future__ import annotations

import io
import re
import struct
import warnings
import zlib
from pathlib import Path

import numpy as np
from PIL import Image

from reach.errors import InputError, Problem
from reach.files import origin_of, read_bytes
from reach.json_text import shown
from reach.level import MAX_SIDE_TILES, MAX_TILES, Entry
from reach.level_sources.alphabet import Alphabet
from reach.level_sources.mapping import Grid, TileMapping
from reach.schema import MOST_PROBLEMS

TRANSPARENT = "transparent"
"""The key for every pixel whose alpha is 0, whatever its colour."""
MODES = ("1", "L", "LA", "P", "PA", "RGB", "RGBA")
"""The kinds of picture that are read: up to 8 bits a channel."""

_COLOUR = re.compile(r"#([0-9a-fA-F]{6})([0-9a-fA-F]{2})?")
_DAMAGE = (
    OSError,
    SyntaxError,
    ValueError,
    struct.error,
    zlib.error,
    EOFError,
    IndexError,
    Image.DecompressionBombError,
)
"""What the decoder raises at a damaged file."""
_CLEAR = 0
_DEPTH = 24
"""Where the head of a PNG has the bits a channel: behind signature (8), length, type, width and height (4 each)."""
_KEYS = 'a colour as "#rrggbb" or "#rrggbbaa", or "transparent"'


def read(path: str | Path, mapping: TileMapping) -> Grid:
    """Return the map in a PNG file.

    Raises
    ------
    InputError
        If the file cannot be read, is no PNG, is too large for a level, or a colour is unknown.
    """
    origin = origin_of(path)
    entries = _entries_by_pixel(mapping)
    pixels = _pixels(origin, read_bytes(path))
    colours, firsts, inverse, counts = np.unique(pixels, return_index=True, return_inverse=True, return_counts=True)
    alphabet = Alphabet()
    symbols = np.zeros(colours.size, np.uint32)
    problems: list[Problem] = []
    for index in np.argsort(firsts).tolist():
        colour = int(colours[index])
        if colour in entries:
            symbols[index] = ord(alphabet.draw(entries[colour]))
        else:
            row, column = divmod(int(firsts[index]), pixels.shape[1])
            often = "" if counts[index] == 1 else f", the first of {counts[index]}"
            found = f"the unknown colour {_name(colour)}{often}"
            problems.append(Problem(origin, f"column {column}, row {row}", found, mapping.allowed("colour")))
            if len(problems) == MOST_PROBLEMS:
                break
    if problems:
        raise InputError(problems)
    drawn = symbols[inverse].reshape(pixels.shape).astype("<u4")
    return Grid([row.tobytes().decode("utf-32-le") for row in drawn], alphabet.symbols)


def _entries_by_pixel(mapping: TileMapping) -> dict[int, Entry]:
    """The mapping's entries by pixel (R, G, B, A from the lowest byte up; 0 for every transparent one)."""
    entries: dict[int, Entry] = {}
    problems: list[tuple[str, str, str]] = []
    for key, entry in mapping.tiles.items():
        match = _COLOUR.fullmatch(key)
        pixel = _CLEAR
        if match:
            red, green, blue, alpha = bytes.fromhex(match[1] + (match[2] or "ff"))
            pixel = red | green << 8 | blue << 16 | alpha << 24 if alpha else _CLEAR
        if not match and key != TRANSPARENT:
            problems.append((key, f"the key {shown(key)}", _KEYS))
        elif pixel in entries:
            problems.append((key, f"the colour {shown(key)} again", "each colour once"))
        else:
            entries[pixel] = entry
    if problems and mapping.document is not None:
        document = mapping.document
        raise InputError(document.problem(("tiles",), found, allowed, key) for key, found, allowed in problems)
    return entries


def _pixels(origin: str, data: bytes) -> np.ndarray:
    """The pixels of a picture, uint32 [rows, columns]: R, G, B, A from the lowest byte up, 0 for transparent."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(io.BytesIO(data), formats=["PNG"]) as picture:
                width, height = picture.size
                # The size stands in the file's head: a picture too large is never unpacked.
                if width > MAX_SIDE_TILES or height > MAX_SIDE_TILES or width * height > MAX_TILES:
                    allowed = f"at most {MAX_SIDE_TILES} x {MAX_SIDE_TILES} and {MAX_TILES} in all"
                    raise InputError([Problem(origin, "", f"{width} x {height} pixels", allowed)])
                if data[_DEPTH] > 8 or picture.mode not in MODES:
                    raise InputError([Problem(origin, "", "16 bits a channel", "a PNG of up to 8 bits a channel")])
                picture.verify()
            with Image.open(io.BytesIO(data), formats=["PNG"]) as picture:
                channels = np.asarray(picture.convert("RGBA"), np.uint32)
    except _DAMAGE:
        raise InputError([Problem(origin, "", "no PNG picture, or a damaged one", "a PNG picture")]) from None
    red, green, blue, alpha = (channels[:, :, index] for index in range(4))
    return np.where(alpha == 0, np.uint32(_CLEAR), red | green << 8 | blue << 16 | alpha << 24)


def _name(pixel: int) -> str:
    red, green, blue, alpha = (pixel >> shift & 255 for shift in (0, 8, 16, 24))
    if alpha == 0:
        return TRANSPARENT
    return f"#{red:02x}{green:02x}{blue:02x}" + ("" if alpha == 255 else f"{alpha:02x}")
