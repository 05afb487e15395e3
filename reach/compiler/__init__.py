"""Machine code for kernels: typed by numba, translated by LLVM, kept between runs, then run without numba."""
