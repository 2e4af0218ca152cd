"""Where compiled kernels are kept, for whoever may not touch the kernels."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from edgewear.mechanics import Buffers

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

    from edgewear import mechanics

    mechanics.advance(_nobody(), _unload(), np.zeros((64, 2)))


def load_lanes() -> None:
    """Load the kernel that plays runs side by side, or compile it, in the same way."""
    import numpy as np

    from edgewear import mechanics
    from edgewear.mechanics.many import LEAST_RUNS

    one = _nobody()
    records = (np.repeat(each, LEAST_RUNS) for each in (one.line, one.person, one.wear))
    line, person, wear = records
    edges, tapes = (np.repeat(each[None], LEAST_RUNS, 0) for each in (one.edges, _unload()))
    mechanics.play_many(one, line, edges, person, wear, tapes, np.zeros((1, 64, 2)))


def _unload() -> NDArray[np.void]:
    """A movement that moves nothing where nobody hangs."""
    import numpy as np

    from edgewear import codes
    from edgewear.layout import MOVEMENT

    movement = np.zeros(1, MOVEMENT)
    movement["kind"] = codes.UNLOAD
    return movement


def _nobody() -> Buffers:
    """Buffers of a line over one edge on which nobody hangs."""
    import numpy as np

    from edgewear import mechanics
    from edgewear.layout import EDGE, LINE, PERSON, WEAR

    line, edges, person, wear = (np.zeros(1, kind) for kind in (LINE, EDGE, PERSON, WEAR))
    line["direct"], line["edge_count"], edges["after_m"] = 1, 1, 1.0
    return mechanics.allocate(line, edges, person, wear, mechanics.route(line, edges))
