"""Compiled functions: integers, arrays and NamedTuples in, integers and NamedTuples of them out."""
