"""Arrays in kernels: what is read, viewed and written, and that numba is as before afterwards."""

import numpy as np
from numba.np import arrayobj

from reach.compiler.arrays import arrays_as_they_are
from reach.kernels.compiling import compiled


@compiled
def all_ways(a, b, out):
    """Elements and rows of one and two dimensions, lengths and shapes."""
    row = b[1]
    part = a[1:]
    out[0] = a[0] + b[1, 2]
    out[1] = row[0] + part[0]
    out[2] = len(a) + b.shape[1] + part.shape[0]
    b[0, 2] += 5
    return out[0] + b[0, 2]


def test_arrays_are_read_viewed_and_written_in_every_layout() -> None:
    rows = np.array([[1, 2, 3], [40, 50, 60]], np.int64)
    for b in (rows.copy(), np.asfortranarray(rows), np.repeat(rows, 2, axis=1)[:, ::2]):
        for a in (np.array([7, 8, 9], np.int64), np.arange(5, 15, dtype=np.int64)[2::2]):
            out = np.zeros(3, np.int64)
            length = len(a)
            assert all_ways(a, b, out) == 67 + 8
            assert out.tolist() == [67, 40 + a[1], length + 3 + length - 1]
            assert b[0].tolist() == [1, 2, 8]
            b[0, 2] = 3


def test_numba_is_as_before_afterwards() -> None:
    before = arrayobj.make_array, arrayobj.fix_integer_index
    with arrays_as_they_are():
        assert arrayobj.make_array is not before[0] and arrayobj.fix_integer_index is not before[1]
    assert before == (arrayobj.make_array, arrayobj.fix_integer_index)
