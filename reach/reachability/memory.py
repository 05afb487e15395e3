"""What is kept from one check to the next, so that after an edit only what it changed is worked out again.

Whatever is kept stands under everything that it follows from, the map around it included, so it is taken only where
working it out again would give the same.
"""

from __future__ import annotations

from reach.reachability.script_memory import ScriptMemory
from reach.reachability.window_memory import WindowMemory


class Memory:
    """What checks leave to the next, of one level that is edited in between; of others nothing is taken.

    One check at a time.
    """

    def __init__(self) -> None:
        """Begin with nothing."""
        self.scripts = ScriptMemory()
        self.windows = WindowMemory()

    def begin(self) -> None:
        """Begin a check; what several in a row did not use is forgotten."""
        self.scripts.begin()
        self.windows.begin()
