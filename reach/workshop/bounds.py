"""A length that is known from both sides, or exactly where they meet."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Bound:
    """A length between two that are proved; None where nothing is known from that side, spx."""

    at_least_spx: int | None
    at_most_spx: int | None

    @property
    def is_exact(self) -> bool:
        """Whether both sides agree."""
        return self.at_least_spx is not None and self.at_least_spx == self.at_most_spx
