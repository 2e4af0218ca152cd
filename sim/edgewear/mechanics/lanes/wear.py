"""Where a step of many runs wears, in loops that are vectorised; see `booking` for f and g."""

from __future__ import annotations

from typing import Any

from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.jit import inlined
from edgewear.mechanics.lanes import rows as r
from edgewear.mechanics.lanes.rows import EACH
from edgewear.mechanics.wear.exposure_bound import LEAST_SLIP_M, SAME_PLACE_M
from edgewear.mechanics.wear.field import LEAST_CELLS, SAME_CELLS, first_half

OUTSIDE, SHUTS = 2.0, 3.0
"""In DEPOSITS: there is one, but not within the cells; it shuts the travel under way."""


@inlined
def _grows(
    g: Floats, i: int, at: float, slip: float, turns: bool, spread: float, dense: float
) -> Any:
    """By how much the worst place can have grown, as `exposure_bound.grows`."""
    window = g[r.WINDOW + i]
    alone = min(dense * window, spread)
    way = 1.0 if slip > 0.0 else -1.0
    run_way, run_at = g[r.RUN_WAY + i], g[r.RUN_AT + i]
    goes_on = (way == run_way) & (way * (run_at - at) > -SAME_PLACE_M)
    steep = g[r.RUN_STEEP + i] if goes_on else 0.0
    wide = g[r.RUN_WIDE + i] if goes_on else 0.0
    total = g[r.RUN_TOTAL + i] if goes_on else 0.0
    was = min(steep * wide, total)
    steep = max(steep, dense)
    wide = max(wide, window)
    total = total + spread
    grown = min(steep * wide, total) - was
    single = turns | (abs(slip) < LEAST_SLIP_M)
    runs = (not single) & (not (grown > alone)) & (spread > 0.0)
    more = grown if runs else alone
    g[r.RUN_WAY + i] = way if runs else run_way
    g[r.RUN_AT + i] = at - slip if runs else run_at
    g[r.RUN_STEEP + i] = steep if runs else g[r.RUN_STEEP + i]
    g[r.RUN_WIDE + i] = wide if runs else g[r.RUN_WIDE + i]
    g[r.RUN_TOTAL + i] = total if runs else g[r.RUN_TOTAL + i]
    return spread if single else more


@inlined
def _ramp(g: Floats, place: int, at: float, slope: float) -> None:
    """A ramp's first cell and what that one and the next two get, as `field._ramp`."""
    cell = float(int(at))
    share = at - cell
    rest = 1.0 - share
    g[place] = cell
    g[place + EACH] = slope * 0.5 * rest * rest
    g[place + 2 * EACH] = slope * (0.5 + share * rest)
    g[place + 3 * EACH] = slope * 0.5 * share * share


@inlined
def _travel_on(
    g: Floats, i: int, half: int, begin: float, stop: float, by: float, counts: bool
) -> None:
    """Two ramps where a travel begins, as `field.travel_on`, and what travel it shuts, if any."""
    wide, was_at, was_wide = g[r.WINDOW_CELLS + i], g[r.OPEN_AT + i], g[r.OPEN_CELLS + i]
    was = g[r.OPEN_J + i]
    goes_on = (wide == was_wide) & (abs(begin - was_at) <= SAME_CELLS)
    g[r.SHUT_AT + half + i], g[r.SHUT_CELLS + half + i] = was_at, was_wide
    g[r.SHUT_J + half + i] = was
    g[r.DEPOSITS + half + i] = 1.0 if goes_on | (was == 0.0) else SHUTS
    change = by + (was if goes_on else 0.0)
    _ramp(g, r.RAMPS + half + i, begin - 0.5 * wide, change)
    _ramp(g, r.RAMPS + half + r.RAMP + i, begin + 0.5 * wide, -change)
    g[r.OPEN_AT + i] = stop if counts else was_at
    g[r.OPEN_CELLS + i] = wide if counts else was_wide
    g[r.OPEN_J + i] = -by if counts else was


@inlined
def _wear_over(f: Floats, g: Floats, i: int, half: int, at: float, slip: float, worn: float) -> Any:
    """Where a half of the step wears, as `booking._wear_over`; half: 0, or `r.LATER`."""
    wears = (g[r.PATH + i] > 0.0) & (g[r.WORN + i] > 0.0) & (worn > 0.0)
    per_cell, wide, cell_m = f[r.PER_CELL + i], g[r.WINDOW_CELLS + i], f[r.CELL_M + i]
    dense = worn * g[r.PER_WINDOW + i] * (1.0 / max(abs(slip), LEAST_CELLS * cell_m))
    start = (at - f[r.LEFT_M + i]) * per_cell
    end = (at - slip - f[r.LEFT_M + i]) * per_cell
    tiny = abs(end - start) < LEAST_CELLS
    begin = min(start, end) if tiny else start
    stop = begin + LEAST_CELLS if tiny else end
    left, right = min(begin, stop) - 0.5 * wide, max(begin, stop) + 0.5 * wide
    inside = (left >= 0.0) & (right < f[r.CELLS + i])
    counts = wears & inside
    steep = dense * cell_m
    _travel_on(g, i, half, begin, stop, steep if stop > begin else -steep, counts)
    spread_flag = g[r.DEPOSITS + half + i] if inside else OUTSIDE
    flag = spread_flag if wears else 0.0
    g[r.DEPOSITS + half + i] = flag
    f[r.OUT + i] = max(f[r.OUT + i], 1.0 if flag == SHUTS else flag)
    low, high = g[r.WORN_LOW + i], g[r.WORN_HIGH + i]
    g[r.WORN_LOW + i] = min(low, float(int(left))) if counts else low
    g[r.WORN_HIGH + i] = max(high, float(int(right)) + 2.0) if counts else high
    return dense if wears else 0.0


@inlined
def book_wear(f: Floats, g: Floats, i: int) -> None:
    """Where the step wears, as `booking._book_wear`."""
    dq, worn = g[r.DQ + i], g[r.WORN + i]
    first, early = first_half(
        dq, g[r.EARLY_SLIP + i], worn, g[r.EARLY_WORN + i], g[r.Q_1 + i], g[r.Q_4 + i]
    )
    at = f[r.AT + i] + g[r.S + i]
    f[r.AT + i] = at
    late, rest = dq - first, worn - early
    early_dense = _wear_over(f, g, i, 0, at, first, early)
    late_dense = _wear_over(f, g, i, r.LATER, at - first, late, rest)
    slides = (g[r.PATH + i] > 0.0) & (worn > 0.0)
    spread = worn * g[r.PER_WINDOW + i] if slides else 0.0
    f[r.GROWTH + i] += _grows(
        g, i, at, dq, first * late < 0.0, spread, max(early_dense, late_dense)
    )
