"""Choosing the characters that draw a map: the known ones first, then easy ones, then any."""

from __future__ import annotations

import string
from collections.abc import Iterator, Mapping
from itertools import chain
from typing import Any

from reach.level import KNOWN_SYMBOLS, Entry

_EASY = "*~%&$/\\|<>-_:;" + string.ascii_uppercase + string.ascii_lowercase + string.digits
_MANY = range(0x4E00, 0xA000)
"""Code points of one width that hardly any map uses (CJK unified ideographs)."""


class Alphabet:
    """Gives every entry (what a tile holds) a character, the same one for equal entries.

    `symbols` are the characters that a level file has to tell, with their entries.
    """

    def __init__(self) -> None:
        """Begin with the characters that every map knows."""
        self.symbols: dict[str, Any] = {}
        self._known = {_identity(entry): symbol for symbol, entry in reversed(list(KNOWN_SYMBOLS.items()))}

    def draw(self, entry: Entry, wish: str = "") -> str:
        """Return the character for an entry; `wish` is taken if it is one printable character and free.

        Examples
        --------
        >>> alphabet = Alphabet()
        >>> alphabet.draw({"material": "solid"}), alphabet.draw({"place": "exit"}), alphabet.draw({"place": "exit"})
        ('#', 'E', 'E')
        """
        identity = _identity(entry)
        if identity not in self._known:
            symbol = next(each for each in self._candidates(entry, wish) if self._is_free(each))
            self._known[identity] = symbol
            self.symbols[symbol] = dict(entry)
        return self._known[identity]

    def _is_free(self, symbol: str) -> bool:
        return symbol not in KNOWN_SYMBOLS and symbol not in self.symbols

    def _candidates(self, entry: Entry, wish: str) -> Iterator[str]:
        initial = str(entry.get("place", entry.get("material")))[0]
        wished = wish if len(wish) == 1 and wish.isprintable() else ""
        return chain(wished, initial.upper(), initial, _EASY, map(chr, _MANY))


def _identity(entry: Mapping[str, Any]) -> tuple[tuple[str, Any], ...]:
    return tuple(sorted(entry.items()))
