"""Where the wear goes on a device: the exposure of each cell, and the largest of all beside it.

The processor keeps second differences and looks for the worst place now and then, up to which
moment a bound serves. On a device a look would hold up every other run that goes in step with
this one, so each deposit adds to the cells themselves and the largest is always known. What a
pattern of work in place deposits is kept apart until it is known how often the pattern counts.

A row of `pending` has (2*(c + 4),) numbers: what is pending in cells 0 .. c - 1, then what counts.
Behind the first c cells lie whether a pattern is under way, and the largest that counts.
Everything here takes one row: the wear of one edge.
"""

from __future__ import annotations

from typing import Any

from edgewear.mechanics.arrays import Floats

NOWHERE = 2**31 - 1
"""First cell where none is worn."""
SPARE = 4
"""Places of a row behind its cells."""
WORKS, LARGEST = 3, 2
"""Places from the end of the first half: 1.0 while a pattern is under way; the largest [J/m]."""


def add(field: Floats, base: int, start: float, end: float, window: float, amount: float) -> Any:
    """Spread `amount` over the cells from place `base` on, as `wear.deposit`; the largest there.

    A window that moves evenly leaves a trapezoid; a cell's mean is its integral over the cell:
    rising over h = min(window, travel), then even, then falling.
    """
    travel = max(abs(end - start), 1e-3)
    left = min(start, end) - 0.5 * window
    right = left + travel + window
    slope = amount / (window * travel)
    height = min(window, travel)
    up = left + height
    down = right - height
    largest = 0.0
    cell = base + int(left)
    x = float(int(left))
    while x <= right:  # counted in floats: a device would write four turns out, and run out of room
        following = x + 1.0
        mean = height
        if x < up or following > down:
            mean = slanted(x, following, left, up, down, right)
        value = field[cell] + slope * mean
        field[cell] = value
        largest = max(largest, value)
        cell += 1
        x = following
    return largest


def add_both(
    field: Floats, base: int, start: float, turn: float, end: float, window: float, early: float,
    late: float,
) -> Any:  # fmt: skip
    """Spread `early` from start to turn and `late` from there to end, as `add`, in one pass."""
    first, second = max(abs(turn - start), 1e-3), max(abs(end - turn), 1e-3)
    left1, left2 = min(start, turn) - 0.5 * window, min(turn, end) - 0.5 * window
    right1, right2 = left1 + first + window, left2 + second + window
    slope1, slope2 = early / (window * first), late / (window * second)
    height1, height2 = min(window, first), min(window, second)
    up1, down1, up2, down2 = left1 + height1, right1 - height1, left2 + height2, right2 - height2
    largest = 0.0
    x = float(int(min(left1, left2)))
    cell = base + int(x)
    right = max(right1, right2)
    while x <= right:
        following = x + 1.0
        mean1, mean2 = height1, height2
        if x < up1 or following > down1:
            mean1 = slanted(x, following, left1, up1, down1, right1)
        if x < up2 or following > down2:
            mean2 = slanted(x, following, left2, up2, down2, right2)
        value = field[cell] + (slope1 * mean1 + slope2 * mean2)
        field[cell] = value
        largest = max(largest, value)
        cell += 1
        x = following
    return largest


def slanted(x: float, end: float, left: float, up: float, down: float, right: float) -> Any:
    """Integral from x to `end` of what rises by 1 from `left` to `up` and falls from `down` on."""
    rises = min(max(end - left, 0.0), up - left)
    rose = min(max(x - left, 0.0), up - left)
    falls = min(max(right - end, 0.0), right - down)
    fell = min(max(right - x, 0.0), right - down)
    level = min(max(end, up), down) - min(max(x, up), down)
    mean = 0.5 * ((rises * rises - rose * rose) + (fell * fell - falls * falls))
    return mean + (up - left) * level


def deposit(field: Floats, start: float, end: float, window: float, amount: float) -> Any:
    """Spread `amount` exactly, as `wear.deposit`; returns (first cell, last cell) touched."""
    half = field.shape[0] // 2
    travel = max(abs(end - start), 1e-3)
    left = min(start, end) - 0.5 * window
    right = left + travel + window
    if left < 0.0 or right >= half - SPARE:
        return 0, -1
    if field[half - WORKS] != 0.0:
        add(field, 0, start, end, window, amount)
    else:
        largest = add(field, half, start, end, window, amount)
        field[half - LARGEST] = max(field[half - LARGEST], largest)
    return int(left), int(right) + 2


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


def largest_by_edge(pending: Floats, exposure: Floats, sums: Any, times: float) -> None:
    """Write the largest exposure that the edge has done [J/m] to its sums."""
    half = pending.shape[1] // 2
    edge = sums[0]
    largest = pending[0, half - LARGEST]
    if pending[0, half - WORKS] != 0.0:
        for cell in range(edge.pending_low, min(edge.pending_high + 1, half - SPARE)):
            largest = max(largest, pending[0, half + cell] + times * pending[0, cell])
    edge.largest_j_m = largest


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
