"""Wear from before the job, put where it lies on the rope of a section.

It has a row of its own behind those of the edges, so that what each edge does is told apart from
what was there, while the worst place is looked for in the sum.
"""

from __future__ import annotations

import numpy as np

from edgewear.case.past_wear import Past
from edgewear.mechanics import Buffers

CROSSED_M = 1e-6
"""A cell that a part reaches into by less than this is not of the part, but rounding [m]."""


def lay_in(buffers: Buffers, past: Past, z: float) -> None:
    """Give cleared buffers the wear that the rope brings in one world.

    Parameters:
        buffers: with one row more than edges.
        past: worn parts.
        z: standard normal number of the world.
    """
    row = len(buffers.edges)
    cell_m, left_m, _ = buffers.cells
    cells = buffers.exposure.shape[1]
    first = np.floor((past.from_m - left_m + CROSSED_M) / cell_m)
    last = np.ceil((past.to_m - left_m - CROSSED_M) / cell_m)
    first, last = (np.clip(ends, 0, cells - 4).astype(np.int64) for ends in (first, last))
    exposure_j_m = past.demand(z) * float(buffers.wear["sheath_j_m"][0])
    field = buffers.exposure[row]
    for begin, end, amount in zip(first, last, exposure_j_m, strict=True):
        field[begin:end] = np.maximum(field[begin:end], amount)
    worn = last > first
    if worn.any():
        buffers.sums["worn_low"][row] = first[worn].min()
        buffers.sums["worn_high"][row] = last[worn].max() - 1
