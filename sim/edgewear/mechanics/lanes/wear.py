"""Where a step of many runs wears, in loops that are vectorised; see `booking` for f and g."""

from __future__ import annotations

from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.jit import inlined
from edgewear.mechanics.lanes import rows as r
from edgewear.mechanics.lanes.rows import EACH
from edgewear.mechanics.wear.exposure_bound import LEAST_SLIP_M, SAME_PLACE_M
from edgewear.mechanics.wear.wear import first_half

OUTSIDE = 2.0
"""In DEPOSITS: there is one, but not within the cells."""


@inlined
def _grows(g: Floats, i: int, at: float, slip: float, worn: float, wears: bool) -> None:
    """By how much the worst place can have grown, as `exposure_bound.grows`."""
    window = g[r.WINDOW + i]
    spread = worn / window
    far = abs(slip)
    per_far = 1.0 / max(far, LEAST_SLIP_M)
    alone = spread if far <= window else worn * per_far
    way = 1.0 if slip > 0.0 else -1.0
    run_way, run_at = g[r.RUN_WAY + i], g[r.RUN_AT + i]
    goes_on = (way == run_way) & (way * (run_at - at) > -SAME_PLACE_M)
    steep = g[r.RUN_STEEP + i] if goes_on else 0.0
    wide = g[r.RUN_WIDE + i] if goes_on else 0.0
    total = g[r.RUN_TOTAL + i] if goes_on else 0.0
    was = min(steep * wide, total)
    steep = max(steep, spread * per_far)
    wide = max(wide, window)
    total = total + spread
    grown = min(steep * wide, total) - was
    counts = (far >= LEAST_SLIP_M) & (not (grown > alone))
    more = grown if counts else alone
    runs = wears & counts
    g[r.RUN_WAY + i] = way if runs else run_way
    g[r.RUN_AT + i] = at - slip if runs else run_at
    g[r.RUN_STEEP + i] = steep if runs else g[r.RUN_STEEP + i]
    g[r.RUN_WIDE + i] = wide if runs else g[r.RUN_WIDE + i]
    g[r.RUN_TOTAL + i] = total if runs else g[r.RUN_TOTAL + i]
    g[r.GROWN + i] += more if wears else 0.0


@inlined
def _ramp(g: Floats, place: int, at: float, slope: float) -> None:
    """A ramp's first cell and what that one and the next two get, as `wear._ramp`."""
    cell = float(int(at))
    share = at - cell
    rest = 1.0 - share
    g[place] = cell
    g[place + EACH] = slope * 0.5 * rest * rest
    g[place + 2 * EACH] = slope * (0.5 + share * rest)
    g[place + 3 * EACH] = slope * 0.5 * share * share


@inlined
def _wear_over(
    f: Floats, g: Floats, i: int, half: int, at: float, slip: float, worn: float
) -> None:
    """Where a half of the step wears, as `booking._wear_over`; half: 0, or `r.LATER`."""
    wears = (g[r.PATH + i] > 0.0) & (g[r.WORN + i] > 0.0) & (worn > 0.0)
    per_cell, wide_cells = f[r.PER_CELL + i], g[r.WINDOW_CELLS + i]
    start = (at - f[r.LEFT_M + i]) * per_cell
    end = (at - slip - f[r.LEFT_M + i]) * per_cell
    swept = max(abs(end - start), 1e-3)
    left = min(start, end) - 0.5 * wide_cells
    right = left + swept + wide_cells
    inside = (left >= 0.0) & (right < f[r.CELLS + i])
    spread_flag = 1.0 if inside else OUTSIDE
    flag = spread_flag if wears else 0.0
    g[r.DEPOSITS + half + i] = flag
    f[r.OUT + i] = max(f[r.OUT + i], flag)
    steep = worn * per_cell / (wide_cells * swept)
    ramps, counts = r.RAMPS + half + i, wears & inside
    _ramp(g, ramps, left, steep)
    _ramp(g, ramps + r.RAMP, left + min(wide_cells, swept), -steep)
    _ramp(g, ramps + 2 * r.RAMP, left + max(wide_cells, swept), -steep)
    _ramp(g, ramps + 3 * r.RAMP, right, steep)
    low, high = g[r.PENDING_LOW + i], g[r.PENDING_HIGH + i]
    g[r.PENDING_LOW + i] = min(low, g[ramps]) if counts else low
    g[r.PENDING_HIGH + i] = max(high, g[ramps + 3 * r.RAMP] + 2.0) if counts else high
    _grows(g, i, at, slip, worn, wears)


@inlined
def book_wear(f: Floats, g: Floats, i: int) -> None:
    """Where the step wears, as `booking._book_wear`."""
    dq, worn = g[r.DQ + i], g[r.WORN + i]
    first, early = first_half(
        dq, g[r.EARLY_SLIP + i], worn, g[r.EARLY_WORN + i], g[r.Q_1 + i], g[r.Q_4 + i]
    )
    at = f[r.AT + i] + g[r.S + i]
    f[r.AT + i] = at
    g[r.GROWN + i] = 0.0
    _wear_over(f, g, i, 0, at, first, early)
    _wear_over(f, g, i, r.LATER, at - first, dq - first, worn - early)
    f[r.GROWTH + i] += g[r.GROWN + i]
