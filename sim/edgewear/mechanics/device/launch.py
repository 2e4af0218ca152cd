"""Batches of runs on a device: what goes there, how many at once, what comes back."""

from __future__ import annotations

import contextlib
import warnings
from collections.abc import Mapping

import numpy as np

from edgewear.mechanics.arrays import STATE, SUMS, Floats, Records
from edgewear.mechanics.batch_kernel import Many, routes
from edgewear.mechanics.cache import one_at_a_time
from edgewear.mechanics.device.columns import BLOCK_THREADS
from edgewear.mechanics.device.field import NOWHERE, SPARE
from edgewear.mechanics.device.run import (
    AT_ALL,
    AT_EDGE,
    AT_LINE,
    COLUMNS,
    DEVICE_EDGE,
    DEVICE_LINE,
    LEFT,
    Given,
    aligned,
)
from edgewear.mechanics.movement.status import DONE

ROOM_CELLS = 2048
"""Cells a run may wear on a device; what wears further is left to the processor."""
THREADS_A_CORE = 256
"""Runs under way on each multiprocessor: as many as its registers hold."""
MARGIN_M = 0.1
"""Rope behind the fixed point for which the processor has cells, as in `arrays.allocate`."""


def can_play(edges: Records) -> bool:
    """Whether a device plays runs: one edge, friction of the first power, none of it static.

    Parameters:
        edges: EDGE (n, e).
    """
    plain = (edges["static_ratio"] == 1.0) & (edges["power_exponent"] == 1.0)
    return edges.shape[1] == 1 and bool(plain.all())


def given_of(
    lines: Records, edges: Records, people: Records, wears: Records, tapes: Records,
    variation: Floats, cell_m: float = 1e-3, step_s: float = 0.015, behind_m: float = 0.0,
) -> Given:  # fmt: skip
    """Numbers of n runs as a device takes them; what is the same in all goes there once.

    behind_m: rope behind the fixed point, as in `arrays.allocate`: so cells lie as there.
    """
    regimes, counts = routes(lines, edges)
    for row, count in enumerate(counts):
        regimes[row, count:] = regimes[row, count - 1]
    state, sums = _blanks()
    return Given(
        _whole(_once(_part(lines, DEVICE_LINE))), _whole(_once(_part(edges, DEVICE_EDGE))),
        _whole(_once(people)), _whole(_once(wears)), _whole(np.ascontiguousarray(regimes)),
        _whole(_once(tapes)), variation, np.array([cell_m, -(behind_m + MARGIN_M), step_s]),
        _whole(state), _whole(sums),
    )  # fmt: skip


def _whole(records: Records) -> Records:
    """Records whose numbers a device reads whole."""
    return records.view(aligned(records.dtype))


def _blanks() -> tuple[Records, Records]:
    """A line and an edge at the start of a run, as `arrays.clear` leaves them."""
    state, sums = np.zeros(1, STATE), np.zeros(1, SUMS)
    for name in ("phase_end", "core_tick", "worn_tick", "parted_tick"):
        state[name] = -1
    for name in ("worn_tick", "bare_tick", "pending_high", "worn_high"):
        sums[name] = -1
    sums["pending_low"] = sums["worn_low"] = NOWHERE
    return state, sums


def _part(records: Records, kept: np.dtype[np.void]) -> Records:
    """Some fields of records, as records of their own."""
    found = np.empty(records.shape, kept)
    for name in kept.names or ():
        found[name] = records[name]
    return found


def _once(records: Records) -> Records:
    """The first row, where all are alike; else all."""
    whole = np.ascontiguousarray(records)
    flat = whole.view(np.uint8).reshape(len(whole), -1)
    return whole[:1] if (flat == flat[:1]).all() else whole


def width_of(travel: int | None) -> int:
    """Columns of `found`, as in `run.play_run`.

    travel: strokes whose mark travel is kept; None: nothing of the edge is.
    """
    return AT_LINE if travel is None else AT_ALL + travel


def many_of(found: Floats) -> Many:
    """What runs came to, as the processor's batches tell it; `end` is 0 where a run was left.

    found: (n, `width_of`), as in `run.play_run`.
    """
    count, width = found.shape
    of = dict(zip(COLUMNS, found.T, strict=False))
    state, sums = np.zeros(count, STATE), np.zeros((count, 1), SUMS)
    for name in ("peak_n", "anchor_peak_n", "stretch_m", "core_tick", "core_ascended_m",
                 "parted_tick", "parted_ascended_m", "climbing_ticks", "steps"):  # fmt: skip
        state[name] = of[name]
    for k, name in enumerate(("third", "two_thirds")):
        state["worn_tick"][:, k] = of[f"{name}_tick"]
        state["worn_ascended_m"][:, k] = of[f"{name}_ascended_m"]
    sums["slip_m"][:, 0], sums["energy_j"][:, 0] = of["slip_m"], of["energy_j"]
    if width > AT_LINE:
        _note_edge(dict(zip(AT_EDGE, found.T[AT_LINE:AT_ALL], strict=True)), state, sums[:, 0])
    whole = {n: of[n].astype(np.int64) for n in ("core_step", "parted_step", "strokes", "ticks")}
    return Many(
        end=np.where(of["end"] != LEFT, np.int64(DONE), np.int64(0)),
        state=state,
        sums=sums,
        largest_j_m=of["largest_j_m"],
        worst_edge=np.where(of["largest_j_m"] > 0.0, 0, -1),
        core_loss=of["core_loss"],
        strength_n=of["strength_n"],
        frequency_hz=np.stack([of["sliding_hz"], of["stuck_hz"]], axis=1),
        ascended_m=of["ascended_m"],
        residual=of["residual"],
        used_up_step=np.zeros(count, np.int64),  # whoever uses a rope up is left
        edge_largest_j_m=of["largest_j_m"][:, None],
        travel=found[:, None, AT_ALL:],
        **whole,
    )


def _note_edge(of: Mapping[str, Floats], state: Records, sums: Records) -> None:
    """Fill in what happened at the edge: STATE and SUMS (n,)."""
    for name in AT_EDGE[: AT_EDGE.index("third_tick")]:
        sums[name] = of[name]
    for k, name in enumerate(("third", "two_thirds", "core")):
        sums["worn_tick"][:, k] = of[f"{name}_tick"]
        sums["worn_ascended_m"][:, k] = of[f"{name}_ascended_m"]
    state["travels"] = of["travels"]


class Device:
    """One device with the kernel on it, and room for the wear of so many runs at once."""

    def __init__(self, number: int = 0, threads: int | None = None, room: int = ROOM_CELLS) -> None:
        """Take a device; its memory is kept as long as this lives.

        Parameters:
            number: which device.
            threads: runs under way at once; None: as many as it holds.
            room: cells a run.
        """
        from numba import cuda

        from edgewear.mechanics.device.kernel import KERNEL, SIMULATED

        self.cuda, self.number, self.kernel, self.ready = cuda, number, KERNEL, False
        with cuda.gpus[number]:
            if threads is None:
                cores = 1 if SIMULATED else cuda.get_current_device().MULTIPROCESSOR_COUNT
                threads = 1 if SIMULATED else cores * THREADS_A_CORE
            self.block = min(BLOCK_THREADS, threads)
            self.blocks = threads // self.block
            self.fields = cuda.to_device(
                np.zeros((self.blocks * self.block, 1, 2 * (room + SPARE)))
            )

    def play(self, given: Given, count: int, travel: int | None = None) -> Floats:
        """Play n runs; returns (n, `width_of(travel)`), as in `run.play_run`."""
        with self.cuda.gpus[self.number]:
            there = [self.cuda.to_device(array) for array in given]
            found = self.cuda.device_array((count, width_of(travel)))
            blocks = min(self.blocks, -(-count // self.block))
            with warnings.catch_warnings(), contextlib.ExitStack() as alone:
                warnings.simplefilter("ignore")  # a few runs do not keep a device busy
                if not self.ready:  # one process compiles, the others find it made
                    alone.enter_context(one_at_a_time("device"))
                self.kernel[blocks, self.block](*there, self.fields, found)
                self.ready = True
            back: Floats = found.copy_to_host()
            return back
