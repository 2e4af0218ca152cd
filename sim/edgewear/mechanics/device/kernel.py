"""The kernel of a device; to import this takes numba-cuda, or numba's simulator of a device."""

# mypy: disable-error-code="no-untyped-def"

from __future__ import annotations

import warnings
from typing import Any

import numba
import numpy as np
from numba import cuda

from edgewear.layout import MOVEMENT
from edgewear.mechanics.arrays import STATE, SUMS, TRACE, WORK_ROWS
from edgewear.mechanics.device.assembled import parts_for
from edgewear.mechanics.device.kept import KeptOnDisk
from edgewear.mechanics.device.run import Given, Own, aligned

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    if not hasattr(np, "row_stack"):  # gone in numpy 2.5; numba-cuda up to 0.30.4 asks for it
        np.row_stack = np.vstack

SIMULATED = bool(numba.config.ENABLE_CUDASIM)
"""Whether there is no device, but numba's simulator of one, in plain Python."""

WORK = WORK_ROWS * 16
STATE_TYPE, SUMS_TYPE, MOVEMENT_TYPE, TRACE_TYPE = (
    numba.from_dtype(aligned(one)) for one in (STATE, SUMS, MOVEMENT, TRACE)
)
FLOAT = numba.float64


def _shown(given: Any) -> Any:
    """Arrays whose records Python reads by attributes."""
    if isinstance(given, tuple):
        return type(given)(*map(_shown, given))  # a named tuple
    plain = getattr(given, "_ary", given)
    return plain.view(np.recarray) if plain.dtype.names else plain


def _simulated() -> Any:
    """`play_run` in plain Python."""
    play = parts_for(lambda function: function)

    def played(run, given, own, found):
        with np.errstate(all="ignore"):
            play(run, _shown(given), _shown(own), found)

    return played


def _compiled() -> Any:
    """`play_run` as a function of the device."""
    from edgewear.mechanics.device.compiled import ONLY_THERE, part

    return parts_for(part, ONLY_THERE)


PLAY = _simulated() if SIMULATED else _compiled()


def play_runs(
    lines, edges, people, wears, regimes, tapes, variation, cells, state0, sums0, fields, found
):
    """Each thread plays runs, one after the other; the arrays as in `Given`.

    fields: (threads, 1, 2*(c + SPARE)), see `field`; found: as in `play_run`.
    """
    state = cuda.local.array(1, STATE_TYPE)
    sums = cuda.local.array(1, SUMS_TYPE)
    mark_state = cuda.local.array(1, STATE_TYPE)
    mark_sums = cuda.local.array(1, SUMS_TYPE)
    movement = cuda.local.array(1, MOVEMENT_TYPE)
    trace = cuda.local.array(1, TRACE_TYPE)
    own_cells = cuda.local.array(3, FLOAT)
    work = cuda.local.array(WORK, FLOAT)
    thread = cuda.grid(1)
    for k in range(WORK):
        work[k] = 0.0
    given = Given(lines, edges, people, wears, regimes, tapes, variation, cells, state0, sums0)
    own = Own(
        state, sums, mark_state, mark_sums, movement, own_cells, work, fields[thread],
        trace[:0],
    )  # fmt: skip
    for run in range(thread, found.shape[0], cuda.gridsize(1)):
        PLAY(run, given, own, found)


def _kernel() -> Any:
    """The kernel, kept on disk."""
    from edgewear.mechanics.device.compiled import kernel

    made = kernel(play_runs)
    made._cache = KeptOnDisk()
    return made


KERNEL = cuda.jit(play_runs) if SIMULATED else _kernel()
