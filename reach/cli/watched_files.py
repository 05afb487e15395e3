"""Files that are looked at again and again: whether anybody has saved one of them since."""

from __future__ import annotations

import time
from collections.abc import Sequence
from hashlib import sha256
from pathlib import Path
from typing import NamedTuple

LOOK_EVERY_S = 0.1
FRESH_S = 2.0
"""A file that was saved so recently is read at every look: a second save may bear the same time and size."""


GONE_S = 1.0
"""A file that is gone for longer is not about to be written anew."""
GONE = b""


class _Look(NamedTuple):
    """What was last seen of a file: its time, size and number, and a hash of its content (GONE where there is none)."""

    stamp: tuple[int, int, int] | None
    content: bytes


class WatchedFiles:
    """Some files, and what was in them when notice was last taken of them.

    How an editor saves does not matter: in place, in several steps, by moving another file there, or by deleting the
    old one first.
    """

    def __init__(self, paths: Sequence[str | Path]) -> None:
        """Take notice of the files as they are."""
        self._paths = [Path(path) for path in paths]
        self._looks = [_Look(None, GONE)] * len(self._paths)
        self._looked_at = 0.0
        self._noticed = self._contents()
        self._saved: set[Path] = set()

    @property
    def changed(self) -> bool:
        """Whether a file is not as it was when notice was last taken; looked at LOOK_EVERY_S apart."""
        if time.monotonic() - self._looked_at < LOOK_EVERY_S:
            return False
        return self._contents() != self._noticed

    def take_saved(self) -> list[Path]:
        """Return the files of which a save was noticed since this was last asked, each once, in the order given."""
        saved = [path for path in dict.fromkeys(self._paths) if path in self._saved]
        self._saved.clear()
        return saved

    def wait(self) -> None:
        """Return when some file has been saved and no save is under way any more; take notice of it."""
        while True:
            time.sleep(LOOK_EVERY_S)
            noticed = self._noticed
            if self._contents() != noticed:
                self.settle()
                if self._noticed != noticed:
                    return

    def settle(self) -> None:
        """Return when no save is under way: two looks in a row see the same, and no file has just gone."""
        since = time.monotonic()
        seen = self._contents()
        while True:
            time.sleep(LOOK_EVERY_S / 2)
            before, seen = seen, self._contents()
            if seen == before and (GONE not in seen or time.monotonic() - since > GONE_S):
                pairs = zip(self._paths, self._noticed, seen, strict=True)
                self._saved.update(path for path, old, new in pairs if old != new)
                self._noticed = seen
                return

    def _contents(self) -> list[bytes]:
        self._looked_at = time.monotonic()
        self._looks = [_look(path, look) for path, look in zip(self._paths, self._looks, strict=True)]
        return [look.content for look in self._looks]


def _look(path: Path, last: _Look) -> _Look:
    try:
        status = path.stat()
        stamp = (status.st_mtime_ns, status.st_size, status.st_ino)
        if stamp == last.stamp and abs(time.time() - status.st_mtime) > FRESH_S:
            return last
        return _Look(stamp, sha256(path.read_bytes()).digest())
    except OSError:
        return _Look(None, GONE)
