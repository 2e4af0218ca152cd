"""How kernels are compiled: plain IEEE division, no fastmath, no parallel threads.

Kernels allocate nothing and keep no array beyond the call, so they are compiled without
reference counts: with them two thirds of a step's time went into counting.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numba

Kernel = Callable[..., Any]


def njit(function: Kernel) -> Kernel:
    """Compile a kernel that other kernels call."""
    compiled: Kernel = numba.njit(error_model="numpy", _nrt=False)(function)
    return compiled


def inlined(function: Kernel) -> Kernel:
    """Compile a kernel into each place it is called from."""
    compiled: Kernel = numba.njit(error_model="numpy", _nrt=False, forceinline=True)(function)
    return compiled


def entry(cache: bool) -> Callable[[Kernel], Kernel]:
    """Compile a kernel that Python calls, kept on disk if `cache`."""

    def compiled(function: Kernel) -> Kernel:
        made: Kernel = numba.njit(error_model="numpy", cache=cache)(function)
        return made

    return compiled
