"""Where the friction energy goes: exact deposition, looking for the worst place, strength."""

from __future__ import annotations

from typing import Any

from edgewear.mechanics import scratch as r
from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.jit import inlined, njit


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
    travel = max(abs(end - start), 1e-3)
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


@njit
def fold(pending: Floats, exposure: Floats, sums: Any, times: float) -> Any:
    """Add the pending exposure of every edge `times` over to the field, and clear it."""
    for row in range(sums.shape[0]):
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
    if not _apart(sums):
        return _scan_together(pending, exposure, sums, times, w)
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
def wore_most(at: int, pending: Floats, exposure: Floats, sums: Any, times: float) -> Any:
    """Edge that wore cell `at` most; -1: none."""
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
    return who


@njit
def core_left(exposure_j_m: float, wear: Any) -> Any:
    """Share of the core's section left: A^(a+1) = A_core^(a+1)*[1 - (X - X_s)+/X_c].

    What is left carries the same load, so it wears the faster the less it is: dA/dX ~ A^(-a),
    integrated (model page 7.3; the exponent is assumed).
    """
    excess = exposure_j_m - wear.sheath_j_m
    if excess <= 0.0:
        return 1.0
    if excess >= wear.core_j_m:
        return 0.0
    left: float = (1.0 - excess / wear.core_j_m) ** (1.0 / (wear.core_exponent + 1.0))
    return left


@njit
def strength_n(exposure_j_m: float, wear: Any) -> Any:
    """Residual strength [N] at an exposure: what is left of sheath and core, each its share.

    F_0*[(1 - k)*(1 - X/X_s)+ + k*(1 - q*min(X/X_s, 1))*core left] (model page 7.4); q, what the
    core loses while only the sheath is rubbed, is 0 unless tests of one's own say otherwise.
    """
    sheath = max(0.0, 1.0 - exposure_j_m / wear.sheath_j_m)
    core = core_left(exposure_j_m, wear) * (1.0 - wear.core_weakening * (1.0 - sheath))
    share = wear.core_strength_share
    strength: float = wear.breaking_n * ((1.0 - share) * sheath + share * core)
    return strength


@njit
def exposure_rate(
    friction_n: float, slip_m: float, tension_n: float, speed_m_s: float, j: int, w: Floats
) -> Any:
    """Weighted exposure [J] of `slip_m` at an even speed, by the law in force at edge j.

    X' = P*M*(p/p_0)*(c + v/v_0), P*M, or M*(c*P + (P - P_0*area)+) (model page 6.2; friction work
    as the measure of wear after Archard, J. Appl. Phys. 24 (1953) 981, from memory).
    """
    energy = friction_n * slip_m
    law = w[r.LINE_P + r.LAW]
    if law == 0.0:
        pace = w[r.LINE_P + r.COLD] + speed_m_s * w[r.LINE_P + r.PER_SPEED]
        return energy * tension_n * w[r.GAIN + j] * pace
    if law == 1.0:
        return energy * w[r.SEVERITY + j]
    power = friction_n * speed_m_s
    excess = 0.0
    if power > 0.0:
        excess = max(0.0, 1.0 - w[r.LINE_P + r.THRESHOLD] * w[r.AREA + j] / power)
    return energy * w[r.SEVERITY + j] * (w[r.LINE_P + r.COLD] + excess)


@inlined
def worn_rate(
    power: float, speed: float, highest: float, law: float, cold: float, per_speed: float,
    threshold: float, gain: float, severity: float, area: float,
) -> Any:  # fmt: skip
    """Weighted exposure a second by the law in force: the rate of `exposure_rate`."""
    if law == 0.0:
        return power * highest * gain * (cold + speed * per_speed)
    if law == 1.0:
        return power * severity
    above = power - threshold * area
    return severity * (cold * power + max(above, 0.0))


@inlined
def worn_at(j: int, power: float, speed: float, highest: float, w: Floats) -> Any:
    """`worn_rate` at edge j."""
    return worn_rate(
        power, speed, highest, w[r.LINE_P + r.LAW], w[r.LINE_P + r.COLD],
        w[r.LINE_P + r.PER_SPEED], w[r.LINE_P + r.THRESHOLD], w[r.GAIN + j],
        w[r.SEVERITY + j], w[r.AREA + j],
    )  # fmt: skip


@njit
def seen_radius_m(edge: Any) -> Any:
    """Radius that the rope bends over [m]: the edge's and what lies on it, or that one's own."""
    radius: float = max(edge.radius_m + edge.thickness_m, edge.own_radius_m)
    return radius


@njit
def met_severity(edge: Any) -> Any:
    """M_edge*M_wet of what the rope lies on: 1/M = 1/M_bare + (spares - 1).

    What a cover spares adds up with what the edge itself would spare, so that a round or smooth
    edge stays milder under it than a sharp one, and no cover makes an edge more severe than bare.
    """
    bare: float = edge.severity
    if edge.spares > 1.0 and bare > 0.0:
        bare /= 1.0 + (edge.spares - 1.0) * bare
    return bare * edge.wet_factor


@njit
def window_m(radius_m: float, bend_rad: float, diameter_m: float) -> Any:
    """Length of rope in contact at an edge: L = max(R*theta, D) (model page 6.3)."""
    return max(radius_m * bend_rad, diameter_m)


@njit
def contact_radius_m(radius_m: float, arc_share: float, diameter_m: float) -> Any:
    """Radius that sets the contact pressure: a rope cannot lie sharper than its own section.

    max(r, a*D) (model page 6.2; the arc share a is assumed).
    """
    return max(radius_m, arc_share * diameter_m)


@njit
def gain(edge: Any, line: Any, wear: Any) -> Any:
    """Exposure per joule, newton of tension and unit of (c + v/v0): M_edge*M_wet/(w*D*r*p0).

    Model page 6.2 with p = T/(w*D*r): the tension spread over the strip that touches.
    """
    width = wear.width_share * line.diameter_m
    radius = contact_radius_m(seen_radius_m(edge), wear.arc_share, line.diameter_m)
    value: float = met_severity(edge) / (width * radius * wear.reference_pressure_pa)
    return value
