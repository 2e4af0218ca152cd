"""Where compiled kernels are kept, for whoever may not touch the kernels."""

from __future__ import annotations

from pathlib import Path

STEP = "edgewear.mechanics.movement.advance"
"""Folder of the kernel that advances lines."""


def kernel_cache_folder() -> Path | None:
    """Folder of the kernels compiled from these sources; None: compiled anew in every process."""
    from edgewear.mechanics.cache import cache_folder

    return cache_folder()


def step_to_compile() -> bool:
    """Tell whether the kernel that advances lines is still to be compiled, for all processes."""
    folder = kernel_cache_folder()
    return folder is not None and not (folder / STEP).exists()


def load_step(nothing: object = None) -> None:
    """Load the kernel that advances lines, or compile it, by a movement that moves nothing.

    Parameters:
        nothing: of no use; a task that is handed to a worker is given something.
    """
    import numpy as np

    from edgewear import codes, mechanics
    from edgewear.layout import EDGE, LINE, MOVEMENT, PERSON, WEAR

    line, edges, person, wear, regimes = (
        np.zeros(1, kind) for kind in (LINE, EDGE, PERSON, WEAR, mechanics.REGIME)
    )
    movement = np.zeros(1, MOVEMENT)
    movement["kind"] = codes.UNLOAD
    buffers = mechanics.allocate(line, edges, person, wear, regimes)
    mechanics.advance(buffers, movement, np.zeros((64, 2)))
