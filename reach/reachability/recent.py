"""What recent checks used, by key; what none of them used is forgotten."""

from __future__ import annotations

from collections.abc import Hashable
from typing import Generic, TypeVar

CHECKS = 8
"""What was not used in so many checks is forgotten: edits are taken back, but seldom more than these."""

Key = TypeVar("Key", bound=Hashable)
Value = TypeVar("Value")


class Recent(Generic[Key, Value]):
    """A mapping that forgets. May be used from several threads at once."""

    def __init__(self) -> None:
        """Begin with nothing."""
        self._kept: dict[Key, tuple[Value, int]] = {}
        self._check = 0
        self.taken = 0
        """How often something was there, since the last `begin`."""

    def begin(self) -> None:
        """Begin a check: forget what none of the last CHECKS used."""
        self._check += 1
        self._kept = {key: kept for key, kept in self._kept.items() if kept[1] >= self._check - CHECKS}
        self.taken = 0

    def get(self, key: Key) -> Value | None:
        """Return what is kept under a key, None if nothing is."""
        kept = self._kept.get(key)
        if kept is None:
            return None
        self.keep(key, kept[0])
        self.taken += 1
        return kept[0]

    def keep(self, key: Key, value: Value) -> None:
        """Keep something under a key."""
        self._kept[key] = (value, self._check)
