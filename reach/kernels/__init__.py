"""Compiled code: integers, arrays and NamedTuples in, the same out; imports only numpy, numba and its own modules."""
