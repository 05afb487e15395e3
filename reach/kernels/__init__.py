"""Compiled functions: integers, arrays and NamedTuples in, the same out.

Importing any kernel runs this first, so that numba keeps what it compiles where no change goes unnoticed.
"""

from reach.kernel_cache import install

install()
