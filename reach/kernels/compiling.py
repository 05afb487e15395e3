"""How kernels are compiled."""

from typing import Any

LEAF: dict[str, Any] = {"cache": True, "error_model": "numpy", "forceinline": True, "_nrt": False}
"""Options of a small function called in a hot loop: `@njit(**LEAF)`.

It is inlined into its caller and counts no references to the arrays inside Motion and Terrain; otherwise a tick costs
twenty times as much. Such a function may read and write arrays it is given but must not make or return one, and it
divides by nothing that can be zero.
"""

BARE: dict[str, Any] = {"cache": True, "error_model": "numpy", "_nrt": False}
"""Options of a larger function called often: `@njit(**BARE)`. As LEAF, but it stays a function of its own."""
