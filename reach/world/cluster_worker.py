"""What a worker of a cluster is asked: a task in, its answer out, from the same version of reach alone.

What goes over the network is plain, so that a worker of another version can say so instead of failing to read it.
"""

from __future__ import annotations

import pickle
import threading
import zlib
from typing import TYPE_CHECKING

import reach
from reach.world.cache import product_stamp
from reach.world.worker import answer_to

if TYPE_CHECKING:
    from reach.world.task import Task

PlainAnswer = tuple[bytes | None, str]
"""The fields of `reach.world.worker.Answer`."""

_one_at_a_time = threading.Lock()
"""Held while a level is checked: kernels let other threads run, and nothing promises that two checks in one process
share nothing. A worker with several threads has no more checks done than one with a single thread."""


def packed(task: Task) -> bytes:
    """Return a task as it goes to a worker."""
    return zlib.compress(pickle.dumps(task), 1)


def plain_answer(version: str, stamp: str, task: bytes) -> PlainAnswer:
    """Check a level on a worker; runs there.

    Parameters
    ----------
    version, stamp : str
        `reach.__version__` and `product_stamp` of who asks: a report of another version would not be its own.
    task : bytes
        See `packed`.
    """
    if product_stamp() != stamp:
        return None, other_version(version)
    with _one_at_a_time:
        answer = answer_to(pickle.loads(zlib.decompress(task)), lambda stage: None)
    return answer.stored, answer.why


def other_version(asked: str) -> str:
    """Return why a worker with this reach does not answer one with another, in one sentence."""
    if asked != reach.__version__:
        return f"the worker has reach {reach.__version__}, this is reach {asked}"
    return f"the worker has another reach {asked} than this one: its sources, its Python or its libraries differ"
