"""Large arrays in pages of their own.

An allocator keeps what is freed, in each thread by itself, and cannot give back what lies below a small piece still in
use: after a few explorations that is more than all that is needed.
"""

import mmap

import numpy as np
from numpy.typing import DTypeLike

LEAST_BYTES = 1 << 18


def zeros(shape: int | tuple[int, ...], dtype: DTypeLike) -> np.ndarray:
    """Return a zeroed array; a large one goes back to the system as soon as nothing refers to it."""
    count, item = int(np.prod(shape)), np.dtype(dtype)
    if count * item.itemsize < LEAST_BYTES:
        return np.zeros(shape, item)
    # private: a process that is forked has its own
    own = mmap.mmap(-1, count * item.itemsize, access=mmap.ACCESS_COPY)
    return np.frombuffer(own, item).reshape(shape)
