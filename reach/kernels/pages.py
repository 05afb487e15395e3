"""Large arrays in pages of their own.

An allocator keeps what is freed, in each thread by itself, and cannot give back what lies below a small piece still in
use: after a few explorations that is more than all that is needed.
"""

import mmap
import os

import numpy as np
from numpy.typing import DTypeLike

LEAST_BYTES = 1 << 22


def zeros(shape: int | tuple[int, ...], dtype: DTypeLike) -> np.ndarray:
    """Return a zeroed array; a large one goes back to the system as soon as nothing refers to it."""
    count, item = int(np.prod(shape)), np.dtype(dtype)
    if count * item.itemsize < LEAST_BYTES:
        return np.zeros(shape, item)
    # private where there is a choice: a process that is forked has its own then
    access = mmap.ACCESS_COPY if os.name == "posix" else mmap.ACCESS_DEFAULT
    own = mmap.mmap(-1, count * item.itemsize, access=access)
    return np.frombuffer(own, item).reshape(shape)
