"""Where the wear lies along the rope: what a window leaves behind it, cell by cell, exactly."""

from __future__ import annotations

from typing import Any

from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.jit import inlined, njit

LEAST_CELLS = 1e-3
"""Travel of a window that hardly moves [cells]."""
SAME_CELLS = 1e-9
"""A travel goes on where the last one ended, but for rounding [cells]."""


@njit
def _ramp(field: Floats, at: float, slope: float) -> Any:
    """Add a ramp `slope*(x - at)+` (x, at in cells) to cell means, as three second differences."""
    cell = int(at)
    f = at - cell
    g = 1.0 - f
    field[cell] += slope * 0.5 * g * g
    field[cell + 1] += slope * (0.5 + f * g)
    field[cell + 2] += slope * 0.5 * f * f


@inlined
def spread_window(
    field: Floats, left: float, up: float, down: float, right: float, slope: float
) -> Any:
    """Add what rises by `slope` a cell from `left` to `up` and falls from `down` to `right`.

    Returns (first cell, last cell) touched.
    """
    _ramp(field, left, slope)
    _ramp(field, up, -slope)
    _ramp(field, down, -slope)
    _ramp(field, right, slope)
    return int(left), int(right) + 2


@njit
def deposit(field: Floats, start: float, end: float, window: float, amount: float) -> Any:
    """Spread `amount` [J/m, on one cell] over the material a window swept, exactly.

    field: (c + 4,) second differences of the cell means [J/m]; start, end: window's centre at
    the begin and end of the step [cells]; window: its length [cells]. A window that moves evenly
    leaves a trapezoid, whatever the cell size: four ramps of slope amount/(window*travel).
    Returns (first cell, last cell) touched; (0, -1): outside the field, nothing deposited.
    """
    travel = max(abs(end - start), LEAST_CELLS)
    left = min(start, end) - 0.5 * window
    right = left + travel + window
    if left < 0.0 or right >= field.shape[0] - 4:
        return 0, -1
    up, down = left + min(window, travel), left + max(window, travel)
    return spread_window(field, left, up, down, right, amount / (window * travel))


@inlined
def first_half(
    slip: float, early_slip: float, worn: float, early_worn: float, begin: float, end: float
) -> Any:
    """Slip and wear of the first half of a step, as its stages say, within those of all of it.

    slip, worn: of the step; early: by `stage.EARLY`; begin, end: slip rates at its ends. Where the
    rope slips one way, no half has more than both.
    """
    low, high = min(slip, 0.0), max(slip, 0.0)
    first = min(max(early_slip, low), high) if begin * end >= 0.0 else early_slip
    return first, min(max(early_worn, 0.0), worn)


@inlined
def changes(field: Floats, at: float, window: float, by: float) -> None:
    """Let what a window leaves behind it change by `by` a cell where its middle is at `at`."""
    _ramp(field, at - 0.5 * window, by)
    _ramp(field, at + 0.5 * window, -by)


@inlined
def shut(field: Floats, edge: Any) -> None:
    """Let the travel under way at an edge end where it is."""
    if edge.open_j_m != 0.0:
        changes(field, edge.open_at, edge.open_cells, edge.open_j_m)
    edge.open_at, edge.open_cells, edge.open_j_m = 0.0, 0.0, 0.0


@njit
def travel_on(
    field: Floats, edge: Any, start: float, end: float, window: float, steep: float
) -> Any:
    """Spread what an edge wears while its window travels on, exactly as `deposit`; False: outside.

    start, end, window: as there; steep: what each cell gets a cell of travel [J/m]. Between two
    travels, which go on from each other, only the change from one to the next is laid down, so
    two ramps a travel; the last one's end stays open: `open_at` [cells], the change it makes there.
    """
    tiny = abs(end - start) < LEAST_CELLS
    begin = min(start, end) if tiny else start
    stop = begin + LEAST_CELLS if tiny else end
    left, right = min(begin, stop) - 0.5 * window, max(begin, stop) + 0.5 * window
    if left < 0.0 or right >= field.shape[0] - 4:
        return False
    by = steep if stop > begin else -steep
    goes_on = window == edge.open_cells and abs(begin - edge.open_at) <= SAME_CELLS
    if not goes_on:
        shut(field, edge)
    changes(field, begin, window, by + edge.open_j_m)
    edge.open_at, edge.open_cells, edge.open_j_m = stop, window, -by
    touches(edge, int(left), int(right) + 2)
    return True


@inlined
def shut_for_now(pending: Floats, sums: Any) -> None:
    """Let the travel at each edge end where it is, until `open_again`."""
    for row in range(sums.shape[0]):
        edge, field = sums[row], pending[row]
        if edge.open_j_m != 0.0:
            first = int(edge.open_at - 0.5 * edge.open_cells)
            last = int(edge.open_at + 0.5 * edge.open_cells)
            for k in range(3):
                edge.open_kept[k], edge.open_kept[3 + k] = field[first + k], field[last + k]
            changes(field, edge.open_at, edge.open_cells, edge.open_j_m)


@inlined
def open_again(pending: Floats, sums: Any) -> None:
    """The field as it was, to the bit: when somebody looks at it must not change what is found."""
    for row in range(sums.shape[0]):
        edge, field = sums[row], pending[row]
        if edge.open_j_m != 0.0:
            first = int(edge.open_at - 0.5 * edge.open_cells)
            last = int(edge.open_at + 0.5 * edge.open_cells)
            for k in range(3):
                field[first + k], field[last + k] = edge.open_kept[k], edge.open_kept[3 + k]
                edge.open_kept[k], edge.open_kept[3 + k] = 0.0, 0.0


@inlined
def touches(edge: Any, low: int, high: int) -> None:
    """Write down that cells low .. high are worn."""
    edge.pending_low, edge.pending_high = min(edge.pending_low, low), max(edge.pending_high, high)
    edge.fresh_low, edge.fresh_high = min(edge.fresh_low, low), max(edge.fresh_high, high)


@njit
def fold(pending: Floats, exposure: Floats, sums: Any, times: float) -> Any:
    """Add the pending exposure of every edge `times` over to the field, and clear it."""
    for row in range(sums.shape[0]):
        shut(pending[row], sums[row])
        low = sums[row].pending_low
        high = sums[row].pending_high
        if high < low:
            continue
        first = 0.0
        value = 0.0
        for cell in range(low, high + 1):
            first += pending[row, cell]
            value += first
            pending[row, cell] = 0.0
            if cell < exposure.shape[1]:
                exposure[row, cell] += times * value
        sums[row].worn_low = min(sums[row].worn_low, low)
        sums[row].worn_high = max(sums[row].worn_high, high)
        sums[row].pending_low = exposure.shape[1]
        sums[row].pending_high = -1
        sums[row].fresh_low, sums[row].fresh_high, sums[row].known_cell = 0, 0, 0
