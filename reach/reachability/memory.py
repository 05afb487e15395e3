"""What is kept from one check to the next, so that after an edit only what it changed is worked out again.

Whatever is kept stands under everything that it follows from, the map around it included, so it is taken only where
working it out again would give the same.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from reach.reachability.covered import covered_key
from reach.reachability.job_memory import JobMemory
from reach.reachability.miss_memory import MissMemory
from reach.reachability.script_memory import ScriptMemory
from reach.reachability.window_memory import WindowMemory

if TYPE_CHECKING:
    from reach.kernels.params import Motion, State, Terrain
    from reach.reachability.result import Exploration

MOST_MIB = 256.0
"""So much is kept of what jobs of explorations found,"""

AS_IT_IS_MIB = 192.0
"""and so much of it without being compressed: all of it is asked for again by every check."""


class Memory:
    """What checks leave to the next, of one level that is edited in between; of others nothing is taken.

    One check at a time.
    """

    def __init__(self) -> None:
        """Begin with nothing."""
        self.misses = MissMemory()
        self.scripts = ScriptMemory()
        self.windows = WindowMemory()
        self.jobs = JobMemory(MOST_MIB, AS_IT_IS_MIB)
        self._covered: tuple[Exploration, bytes] | None = None

    def begin(self) -> None:
        """Begin a check; what several in a row did not use is forgotten."""
        self.misses.begin()
        self.scripts.begin()
        self.windows.begin()

    def covered(self, motion: Motion, terrain: Terrain, seen: Exploration, start: State) -> bytes:
        """Return the `covered_key` of a superset, worked out once in a row."""
        if self._covered is None or self._covered[0] is not seen:
            self._covered = (seen, covered_key(motion, terrain, seen, start))
        return self._covered[1]
