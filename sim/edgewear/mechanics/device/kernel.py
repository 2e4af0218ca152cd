"""The kernel of a device, and how it is compiled."""

from __future__ import annotations

from functools import cache
from typing import Any

from edgewear.mechanics.arrays import SPANS, STATE, SUMS, TRACE, WORK_ROWS
from edgewear.mechanics.device import field, general
from edgewear.mechanics.device.parts import Parts, ids
from edgewear.mechanics.device.run import Given, Own, device_mark, device_step, play_run
from edgewear.layout import MOVEMENT
from edgewear.mechanics.movement import advance, periods
from edgewear.mechanics.step import stage, step
from edgewear.mechanics.wear import wear

WORK = WORK_ROWS * 16


def instead() -> dict[int, Any]:
    """Parts of the processor's kernels that give way on a device."""
    return ids(
        {
            wear.deposit: field.deposit,
            wear.fold: field.fold,
            wear.scan: field.scan,
            wear.largest_by_edge: field.largest_by_edge,
            stage.step_any: general.step_in_a_loop,
            stage.step_two: general.step_in_a_loop,
            stage.refine_power: general.no_power,
            step._settle_static: general.no_static,
        }
    )


def parts_for(compiled: Any) -> Any:
    """`play_run` for a device, all that it calls copied."""
    plain = Parts(compiled, instead())
    # a step and a mark call what they stand for: their own copies name the processor's part
    step = plain.of(device_step)
    note = plain.of(device_mark)
    whole = Parts(compiled, {**instead(), id(advance._make_step): step, id(periods.mark): note})
    whole._made.update({id(step): step, id(note): note})
    return whole.of(play_run)


@cache
def kernel(registers: int | None = None) -> Any:
    """The kernel, compiled when it is first called."""
    import numba
    from numba import cuda

    state_type, sums_type = numba.from_dtype(STATE), numba.from_dtype(SUMS)
    movement_type, trace_type = numba.from_dtype(MOVEMENT), numba.from_dtype(TRACE)
    float64 = numba.float64
    play = parts_for(cuda.jit(device=True, forceinline=False))

    def play_runs(lines, edges, people, wears, regimes, tapes, variation, cells, state0, sums0, fields, found):
        """Each thread plays runs, one after the other."""
        state = cuda.local.array(1, state_type)
        sums = cuda.local.array(1, sums_type)
        mark_state = cuda.local.array(1, state_type)
        mark_sums = cuda.local.array(1, sums_type)
        movement = cuda.local.array(1, movement_type)
        trace = cuda.local.array(1, trace_type)
        own_cells = cuda.local.array(3, float64)
        work = cuda.local.array(WORK, float64)
        thread = cuda.grid(1)
        for k in range(WORK):
            work[k] = 0.0
        sums[0].worn_low = sums0[0].worn_low
        sums[0].worn_high = -1
        sums[0].pending_low = sums0[0].pending_low
        sums[0].pending_high = -1
        given = Given(lines, edges, people, wears, regimes, tapes, variation, cells, state0, sums0)
        own = Own(
            state, sums, mark_state, mark_sums, movement, own_cells, work, fields[thread],
            fields[thread][:, :0], trace[:0],
        )
        for run in range(thread, found.shape[1], cuda.gridsize(1)):
            play(run, given, own, found)

    return cuda.jit(max_registers=registers)(play_runs)
