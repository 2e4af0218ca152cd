"""The worst place of a rope, and who wore it."""

from __future__ import annotations

from typing import Any

from edgewear.mechanics import scratch as r
from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.jit import inlined, njit
from edgewear.mechanics.wear.field import open_again, shut_for_now

BEHIND = 64
"""Cells before those worn last at which a look keeps its sums: a stroke goes to and fro."""


@njit
def _scan_one(pending: Floats, exposure: Floats, edge: Any, times: float) -> Any:
    """Find the worst place of one edge alone, as `scan`, with nothing to add up."""
    first = 0.0
    value = 0.0
    largest = 0.0
    at = -1
    low = min(edge.worn_low, edge.pending_low)
    high = min(max(edge.worn_high, edge.pending_high), exposure.shape[0] - 1)
    for cell in range(low, high + 1):
        own = exposure[cell]
        if edge.pending_low <= cell <= edge.pending_high:
            first += pending[cell]
            value += first
            own += times * value
        if own > largest:
            largest = own
            at = cell
    return largest, at


@inlined
def _apart(sums: Any) -> Any:
    """Whether no two edges have worn the same cells."""
    for row in range(sums.shape[0]):
        low = min(sums[row].worn_low, sums[row].pending_low)
        high = max(sums[row].worn_high, sums[row].pending_high)
        for other in range(row):
            if (
                min(sums[other].worn_low, sums[other].pending_low) <= high
                and max(sums[other].worn_high, sums[other].pending_high) >= low
            ):
                return False
    return True


@njit
def scan(pending: Floats, exposure: Floats, sums: Any, times: float, w: Floats) -> Any:
    """Look for the worst place without changing anything.

    times: how often the pending exposure counts. Returns (largest exposure [J/m], its cell or -1);
    the largest that each edge alone has done, where there are several, goes to SCAN_MOST.
    """
    shut_for_now(pending, sums)
    if _apart(sums):
        largest, at = _scan_apart(pending, exposure, sums, times, w)
    else:
        largest, at = _scan_together(pending, exposure, sums, times, w)
    open_again(pending, sums)
    return largest, at


@njit
def _scan_apart(pending: Floats, exposure: Floats, sums: Any, times: float, w: Floats) -> Any:
    """The same where no two edges have worn the same cells."""
    largest = 0.0
    at = -1
    for row in range(sums.shape[0]):
        most, cell = _scan_one(pending[row], exposure[row], sums[row], times)
        w[r.SCAN_MOST + row] = most
        if most > largest or (most == largest and cell < at):
            largest = most
            at = cell
    return largest, at


@njit
def _scan_together(pending: Floats, exposure: Floats, sums: Any, times: float, w: Floats) -> Any:
    """The same where edges wear the same cells: what they do there adds up."""
    low = exposure.shape[1]
    high = -1
    for row in range(sums.shape[0]):
        low = min(low, min(sums[row].worn_low, sums[row].pending_low))
        high = max(high, max(sums[row].worn_high, sums[row].pending_high))
        w[r.SCAN_1 + row], w[r.SCAN_2 + row], w[r.SCAN_MOST + row] = 0.0, 0.0, 0.0
    largest = 0.0
    at = -1
    end = min(high + 1, exposure.shape[1])
    for start in range(low, end, r.BLOCK):
        stop = min(start + r.BLOCK, end)
        for k in range(r.BLOCK):
            w[r.SCAN + k] = 0.0
        for row in range(sums.shape[0]):
            _add_block(start, stop, row, pending, exposure, sums[row], times, w)
        for cell in range(start, stop):
            total = w[r.SCAN + cell - start]
            if total > largest:
                largest = total
                at = cell
    return largest, at


@inlined
def _add_cells(begin: int, end: int, start: int, row: int, exposure: Floats, w: Floats) -> None:
    """Add what edge `row` did to some cells of a block, with nothing pending there."""
    most = w[r.SCAN_MOST + row]
    for cell in range(begin, end):
        own = exposure[row, cell]
        w[r.SCAN + cell - start] += own
        most = max(most, own)
    w[r.SCAN_MOST + row] = most


@njit
def _add_block(
    start: int, stop: int, row: int, pending: Floats, exposure: Floats, edge: Any, times: float,
    w: Floats,
) -> None:  # fmt: skip
    """Add what edge `row` did to the cells start .. stop - 1 to the scratch rows of a scan."""
    if min(edge.worn_low, edge.pending_low) >= stop:
        return
    if max(edge.worn_high, edge.pending_high) < start:
        return
    low = min(max(edge.pending_low, start), stop)
    high = min(max(edge.pending_high + 1, low), stop)
    _add_cells(start, low, start, row, exposure, w)
    first, value = w[r.SCAN_1 + row], w[r.SCAN_2 + row]
    most = w[r.SCAN_MOST + row]
    for cell in range(low, high):
        first += pending[row, cell]
        value += first
        own = exposure[row, cell] + times * value
        w[r.SCAN + cell - start] += own
        most = max(most, own)
    w[r.SCAN_1 + row], w[r.SCAN_2 + row], w[r.SCAN_MOST + row] = first, value, most
    _add_cells(high, stop, start, row, exposure, w)


@njit
def _grown(pending: Floats, exposure: Floats, edge: Any) -> Any:
    """Largest exposure of one edge alone [J/m], by the cells that it wore since the last look.

    The sums up to a cell shortly before these are kept: most looks go on from the last one.
    """
    if edge.fresh_high < edge.fresh_low:
        return edge.largest_j_m
    high = min(edge.fresh_high, exposure.shape[0] - 1)
    cell, first, value = edge.pending_low, 0.0, 0.0
    if cell < edge.known_cell <= edge.fresh_low:
        cell, first, value = edge.known_cell, edge.known_first, edge.known_value
    for before in (edge.fresh_low - BEHIND, edge.fresh_low):
        for k in range(cell, before):
            first += pending[k]
            value += first
        cell = max(cell, before)
        if before < edge.fresh_low:
            edge.known_cell, edge.known_first, edge.known_value = cell, first, value
    most = edge.largest_j_m
    for k in range(cell, high + 1):
        first += pending[k]
        value += first
        most = max(most, exposure[k] + value)
    return most


@njit
def scan_on(pending: Floats, exposure: Floats, sums: Any, times: float, w: Floats) -> Any:
    """Largest exposure [J/m], as `scan`, where it was looked for in this way before.

    Where no two edges have worn the same cells, only those worn since have changed.
    """
    if times != 1.0 or not _apart(sums):
        largest, _ = scan(pending, exposure, sums, times, w)
    else:
        largest = 0.0
        shut_for_now(pending, sums)
        for row in range(sums.shape[0]):
            if sums[row].fresh_low > 0:
                most = _grown(pending[row], exposure[row], sums[row])
            else:
                most, _ = _scan_one(pending[row], exposure[row], sums[row], 1.0)
                sums[row].known_cell = 0
            w[r.SCAN_MOST + row] = most
            largest = max(largest, most)
        open_again(pending, sums)
    for row in range(sums.shape[0]):
        sums[row].fresh_low, sums[row].fresh_high = exposure.shape[1], -1
    return largest


@njit
def wore_most(at: int, pending: Floats, exposure: Floats, sums: Any, times: float) -> Any:
    """Edge that wore cell `at` most; -1: none."""
    shut_for_now(pending, sums)
    most = 0.0
    who = -1
    for row in range(sums.shape[0]):
        first = 0.0
        value = 0.0
        for cell in range(sums[row].pending_low, min(at, sums[row].pending_high) + 1):
            first += pending[row, cell]
            value += first
        own = exposure[row, at] if at >= 0 else 0.0
        if at <= sums[row].pending_high:
            own += times * value
        if own > most:
            most = own
            who = row
    open_again(pending, sums)
    return who
