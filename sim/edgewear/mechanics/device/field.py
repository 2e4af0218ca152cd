"""Where the wear goes on a device: the exposure of each cell, and the largest of all beside it.

The processor keeps second differences and looks for the worst place now and then, up to which
moment a bound serves. On a device a look would hold up every other run that goes in step with
this one, so each deposit adds to the cells themselves and the largest is always known. What a
pattern of work in place deposits is kept apart until it is known how often the pattern counts.

A row of `pending` has (2*(c + SPARE),) numbers: what is pending in cells 0 .. c - 1, then what
counts.
Behind the first c cells lie whether a pattern is under way, and the largest that counts.
Everything here takes one row: the wear of one edge.
"""

from __future__ import annotations

from typing import Any

from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.wear.field import LEAST_CELLS

NOWHERE = 2**31 - 1
"""First cell where none is worn."""
SPARE = 8
"""Places of a row behind its cells. With them a row of 2,048 cells is an odd number of cache lines:
else the cells at the edge, about the middle of every row, would crowd in the same sets."""
WORKS, LARGEST = 3, 2
"""Places from the end of the first half: 1.0 while a pattern is under way; the largest [J/m]."""


def add_both(
    field: Floats, base: int, start: float, turn: float, end: float, window: float, early: float,
    late: float,
) -> Any:  # fmt: skip
    """Spread `early` from start to turn and `late` from there to end, each as `deposit` does.

    Over the cells from place `base` on; returns the largest there. A cell gets what is left behind
    up to its end less what is up to its begin.
    """
    first, second = max(abs(turn - start), LEAST_CELLS), max(abs(end - turn), LEAST_CELLS)
    left1, left2 = min(start, turn) - 0.5 * window, min(turn, end) - 0.5 * window
    right = max(left1 + first, left2 + second) + window
    slope1, slope2 = 0.125 * early / (window * first), 0.125 * late / (window * second)
    largest, before = 0.0, 0.0
    x = float(int(min(left1, left2)))
    cell = base + int(x)
    while x <= right:  # counted in floats: a device would write four turns out, and run out of room
        x += 1.0
        upto = slope1 * swept(x - left1, first, window) + slope2 * swept(x - left2, second, window)
        value = field[cell] + (upto - before)
        field[cell] = value
        largest = max(largest, value)
        cell += 1
        before = upto
    return largest


def swept(far: float, travel: float, window: float) -> Any:
    """Eight times the integral over so far of what a window leaves behind that travels at 1.

    A trapezoid: ramps begin and end where the window's ends are, first and last. Integrated, each
    is a square from where it begins; x + |x| is twice what of x is positive, without a branch.
    """
    a, b, c, d = far, far - travel, far - window, far - travel - window
    a, b, c, d = a + abs(a), b + abs(b), c + abs(c), d + abs(d)
    return (a * a - b * b) - (c * c - d * d)


def deposit(field: Floats, start: float, end: float, window: float, amount: float) -> Any:
    """Spread `amount` exactly, as `wear.field.deposit`; returns (first cell, last cell) touched."""
    half = field.shape[0] // 2
    travel = max(abs(end - start), LEAST_CELLS)
    left = min(start, end) - 0.5 * window
    right = left + travel + window
    if left < 0.0 or right >= half - SPARE:
        return 0, -1
    if field[half - WORKS] != 0.0:
        add_both(field, 0, start, end, end, window, amount, 0.0)
    else:
        largest = add_both(field, half, start, end, end, window, amount, 0.0)
        field[half - LARGEST] = max(field[half - LARGEST], largest)
    return int(left), int(right) + 2


def travel_on(
    field: Floats, edge: Any, start: float, end: float, window: float, steep: float
) -> Any:
    """Spread what an edge wears while its window travels on, as `wear.field.travel_on`, at once."""
    amount = steep * window * max(abs(end - start), LEAST_CELLS)
    low, top = deposit(field, start, end, window, amount)
    if top >= 0:
        edge.pending_low = min(edge.pending_low, low)
        edge.pending_high = max(edge.pending_high, top)
    return top >= 0


def fold(pending: Floats, exposure: Floats, sums: Any, times: float) -> None:
    """Add what is pending `times` over to what counts, and clear it."""
    edge = sums[0]
    half = pending.shape[1] // 2
    if edge.pending_high < edge.pending_low:
        return
    if pending[0, half - WORKS] != 0.0:
        largest = pending[0, half - LARGEST]
        for cell in range(edge.pending_low, min(edge.pending_high + 1, half - SPARE)):
            value = pending[0, half + cell] + times * pending[0, cell]
            pending[0, cell] = 0.0
            pending[0, half + cell] = value
            largest = max(largest, value)
        pending[0, half - LARGEST] = largest
        pending[0, half - WORKS] = 0.0
    edge.worn_low = min(edge.worn_low, edge.pending_low)
    edge.worn_high = max(edge.worn_high, edge.pending_high)
    edge.pending_low = NOWHERE
    edge.pending_high = -1


def scan(pending: Floats, exposure: Floats, sums: Any, times: float, w: Floats) -> Any:
    """Largest exposure [J/m] with what is pending counted `times`, and 0 for its cell; -1: none."""
    edge = sums[0]
    half = pending.shape[1] // 2
    largest = pending[0, half - LARGEST]
    if pending[0, half - WORKS] != 0.0:
        for cell in range(edge.pending_low, min(edge.pending_high + 1, half - SPARE)):
            largest = max(largest, pending[0, half + cell] + times * pending[0, cell])
    return largest, 0 if largest > 0.0 else -1


def scan_on(pending: Floats, exposure: Floats, sums: Any, times: float, w: Floats) -> Any:
    """Largest exposure [J/m], which is always known."""
    largest, _ = scan(pending, exposure, sums, times, w)
    return largest


def clear(pending: Floats, sums: Any) -> None:
    """Make the field ready for another run, touching only the cells that were worn."""
    edge = sums[0]
    half = pending.shape[1] // 2
    low = min(edge.worn_low, edge.pending_low)
    high = max(edge.worn_high, edge.pending_high)
    for cell in range(low, min(high + 1, half - SPARE)):
        pending[0, cell] = 0.0
        pending[0, half + cell] = 0.0
    pending[0, half - WORKS] = 0.0
    pending[0, half - LARGEST] = 0.0
