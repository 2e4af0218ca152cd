"""Reading results out of a line's buffers, without changing them."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from edgewear.mechanics.arrays import Buffers, Floats, Records
from edgewear.mechanics.cache import CACHE
from edgewear.mechanics.jit import entry
from edgewear.mechanics.movement.advance import play
from edgewear.mechanics.wear.field import open_again, shut_for_now
from edgewear.mechanics.wear.wear import core_left, strength_n
from edgewear.mechanics.wear.worst_place import scan, wore_most

NO_VARIATION: Floats = np.zeros((0, 2))
FOREVER = 2**62
NO_FLOW_J = 1e-6
"""Sum of energy flows below which nothing has moved [J]."""


def advance(
    buffers: Buffers,
    movement: Records | np.void,
    variation: Floats = NO_VARIATION,
    until_tick: int = FOREVER,
    exact: bool = False,
    armed: int = 0,
    watch: float = math.inf,
) -> int:
    """Play a movement on a line, or go on with it; returns `Status` bits.

    movement: one MOVEMENT record. variation: (k, 2) standard normals by ordinal of the stroke.
    until_tick: not past it; exact: cut there. armed: `Status` bits to return on.
    watch: sheath demand to return on, with WATCH in `armed`.
    """
    return int(
        play(
            np.atleast_1d(movement),
            variation,
            int(until_tick),
            bool(exact),
            int(armed),
            float(watch),
            *buffers,
        )
    )


@entry(CACHE)
def _worst(pending: Floats, exposure: Floats, sums: Any, times: float, w: Floats) -> Any:
    """Worst place, with exposure not yet folded counted."""
    largest, at = scan(pending, exposure, sums, times, w)
    return largest, at, wore_most(at, pending, exposure, sums, times)


@entry(CACHE)
def _add_up(pending: Floats, sums: Any, row: int, own: Floats) -> None:
    """What is pending of an edge in each cell from the first worn one on, to `own` [J/m]."""
    shut_for_now(pending, sums)
    first, value = 0.0, 0.0
    for k in range(own.shape[0]):
        first += pending[row, sums[row].pending_low + k]
        value += first
        own[k] = value
    open_again(pending, sums)


@entry(CACHE)
def _strength(exposure_j_m: float, wear_: Any) -> Any:
    """Core loss and residual strength at an exposure."""
    return 1.0 - core_left(exposure_j_m, wear_[0]), strength_n(exposure_j_m, wear_[0])


def worst(buffers: Buffers) -> tuple[float, int, int]:
    """Largest exposure [J/m], its cell, and the edge (row) that wore it most; -1: none."""
    times = 1.0 + float(buffers.state["skipped"][0])
    largest, cell, edge = _worst(
        buffers.pending, buffers.exposure, buffers.sums, times, buffers.work
    )
    if edge >= len(buffers.edges):  # wear from before has a row of its own
        edge = _edge_at(buffers, cell)
    return float(largest), int(cell), int(edge)


def _edge_at(buffers: Buffers, cell: int) -> int:
    """Edge that wore a cell most, wear from before left out; -1: none."""
    own = exposure_by_edge(buffers)[: len(buffers.edges), cell]
    return int(own.argmax()) if own.max(initial=0.0) > 0.0 else -1


def strength(buffers: Buffers) -> tuple[float, float]:
    """Core loss at the worst place, and residual strength there [N]."""
    loss, newton = _strength(worst(buffers)[0], buffers.wear)
    return float(loss), float(newton)


def exposure_by_edge(buffers: Buffers) -> Floats:
    """Exposure of each cell from each edge, (n, c) [J/m], with what is not yet folded.

    Where a rope brought wear from before, that is one row more.
    """
    field = buffers.exposure.copy()
    for row in range(len(field)):
        low, worn = _worn(buffers, row)
        field[row, low : low + len(worn)] = worn
    return field


def _worn(buffers: Buffers, row: int) -> tuple[int, Floats]:
    """First cell that an edge has worn, and the exposure from there to the last one [J/m]."""
    sums, cells = buffers.sums, buffers.exposure.shape[1]
    begin, end = int(sums["pending_low"][row]), min(int(sums["pending_high"][row]) + 1, cells)
    low = min(begin, int(sums["worn_low"][row]))
    high = max(end, min(int(sums["worn_high"][row]) + 1, cells))
    field = buffers.exposure[row, low:high].copy()
    if end > begin:
        own = np.empty(end - begin)
        _add_up(buffers.pending, sums, row, own)
        field[begin - low : end - low] += (1.0 + float(buffers.state["skipped"][0])) * own
    return low, field


def demand(buffers: Buffers) -> Floats:
    """Sheath demand of each cell, (c,): exposure over what the sheath bears."""
    total: Floats = exposure_by_edge(buffers).sum(axis=0) / float(buffers.wear["sheath_j_m"][0])
    return total


def demand_before(buffers: Buffers) -> Floats:
    """Sheath demand of each cell from before the job, (c,)."""
    cells = buffers.exposure.shape[1]
    if len(buffers.sums) == len(buffers.edges):
        return np.zeros(cells)
    before: Floats = buffers.exposure[-1] / float(buffers.wear["sheath_j_m"][0])
    return before


def demand_by_edge(buffers: Buffers) -> Floats:
    """Largest sheath demand from each edge alone, (n,)."""
    largest = [_worn(buffers, row)[1].max(initial=0.0) for row in range(len(buffers.edges))]
    return np.array(largest) / float(buffers.wear["sheath_j_m"][0])


def residual_of(states: Records) -> Floats:
    """|in - out| over the sum of absolute energy flows, of STATE (n,) records; 0 if that is 0.

    In: work at the device and at the anchor end less the elastic energy that leaves with the
    rope, work in place, gravity. Out: kinetic, elastic, body spring, viscous, friction, mixing.
    """
    s = states
    given = s["device_j"] - s["leaves_j"] + s["feed_j"] + s["mover_j"] + s["gravity_j"]
    taken = (
        s["kinetic_j"]
        + s["elastic_j"]
        + s["body_j"]
        + s["viscous_j"]
        + s["friction_j"]
        + s["mixing_j"]
    )
    flows = s["flows_j"] + sum(
        np.abs(s[name]) for name in ("gravity_j", "kinetic_j", "elastic_j", "body_j")
    )
    moved = flows > NO_FLOW_J
    found: Floats = np.where(moved, np.abs(given - taken) / np.where(moved, flows, 1.0), 0.0)
    return found


def residual(buffers: Buffers) -> float:
    """The energy residual of one section, as `residual_of` defines it."""
    return float(residual_of(buffers.state)[0])


def frequencies(buffers: Buffers) -> tuple[float, float]:
    """Natural frequencies [Hz]: rope sliding at every edge, and stuck at the last one.

    f = sqrt(k/m)/(2*pi), 1/k = sum(s_i)/K + 1/k_body over the spans that take part.
    """
    s = buffers.state[0]
    body_m = float(buffers.line["stiffness_n"][0] / buffers.person["body_stiffness_n_m"][0])
    count = int(s["count"])
    spans = s["span_m"][: count + 1]

    def hertz(rope_m: float) -> float:
        stiffness = float(buffers.line["stiffness_n"][0]) / (rope_m + body_m)
        return math.sqrt(stiffness / float(s["mass_kg"])) / (2.0 * math.pi)

    if s["loaded"] == 0:
        return math.nan, math.nan
    return hertz(float(spans.sum())), hertz(float(spans[count]))
