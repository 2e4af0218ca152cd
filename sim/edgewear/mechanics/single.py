"""The step of a line over one edge, all in registers: most ascents are of this kind.

Same equations and same scheme as `stage`, without the scratch rows: both spans taut, Coulomb
friction with static equal to kinetic. What it cannot do it leaves to the general step.
"""

from __future__ import annotations

import math
from typing import Any

from edgewear.mechanics import rows as r
from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.drive import drive_here
from edgewear.mechanics.jit import inlined, njit
from edgewear.mechanics.slip import SAME_RATE, TOLERANCE, last_piece_here

PASSES = 12


@njit
def is_single(n: int, w: Floats) -> Any:
    """Whether the one-edge step may be tried."""
    return (
        n == 1
        and w[r.TAUT] != 0.0
        and w[r.TAUT + 1] != 0.0
        and w[r.LINE_P + r.ANY_STATIC] == 0.0
        and w[r.LINE_P + r.ANY_POWER] == 0.0
        and w[r.REGIME_P + r.CLOSED] != 0.0
    )


@inlined
def piece_of(x: float, b: float, take: float, limited: bool, w: Floats) -> Any:
    """Which piece `last_piece` would take for a tension well inside it; -1: look closely."""
    free = x + b * take
    if free <= 0.0 or x <= 0.0 or max(x, free) >= w[r.LINE_P + r.CAP_N]:
        return -1.0
    if limited:
        if x >= w[r.LINE_P + r.FULL_N]:
            return 2.0
        if free > w[r.LINE_P + r.WEIGHT_N]:
            return 3.0
    return 1.0


@inlined
def _slip(
    a0: float, b0: float, a1: float, b1: float, feed: float, take: float, limited: bool,
    ratio: float, w: Floats,
) -> Any:  # fmt: skip
    """Slip rate and tensions of one edge: policy iteration on one unknown.

    Returns (rate, tension above, below, piece of the last span, found).
    """
    a0 = a0 - b0 * feed
    q = 0.0
    above = 0.0
    below = 0.0
    piece = 0.0
    for _ in range(PASSES):
        above = max(a0 + b0 * q, 0.0)
        steep0 = b0 if a0 + b0 * q >= 0.0 else 0.0
        from0 = a0 if steep0 > 0.0 else 0.0
        constant, slope, piece = last_piece_here(a1 - b1 * q, b1, take, limited, w)
        below = max(constant + slope * (a1 - b1 * q), 0.0)
        steep1 = slope * b1
        from1 = constant + slope * a1
        tolerance = TOLERANCE * (1.0 + above + below)
        steep = ratio * steep0 + steep1
        found = 0.0
        if q * steep - (ratio * above - below) > tolerance:
            found = (from1 - ratio * from0) / steep
            same = found * steep > tolerance
        else:
            steep = steep0 + ratio * steep1
            same = False
            if q * steep - (above - ratio * below) < -tolerance:
                found = (ratio * from1 - from0) / steep
                same = found * steep < -tolerance
        if abs(found - q) <= SAME_RATE * (1e-3 + abs(found)):
            return q, above, below, piece, True
        q = found
        # where the rates found lie on the pieces they were found with, they are the answer
        x = a1 - b1 * q
        if same and piece == piece_of(x, b1, take, limited, w) and from0 + steep0 * q > 0.0:
            return q, from0 + steep0 * q, constant + slope * x, piece, True
    return q, above, below, piece, False


@inlined
def _worn(power: float, speed: float, highest: float, w: Floats) -> Any:
    """Weighted exposure a second by the law in force at the edge."""
    law = w[r.LINE_P + r.LAW]
    cold = w[r.LINE_P + r.COLD]
    if law == 0.0:
        return power * highest * w[r.GAIN + 1] * (cold + speed * w[r.LINE_P + r.PER_SPEED])
    if law == 1.0:
        return power * w[r.SEVERITY + 1]
    above = power - w[r.LINE_P + r.THRESHOLD] * w[r.AREA + 1]
    return w[r.SEVERITY + 1] * (cold * power + max(above, 0.0))


@inlined
def _flow(
    phase: int, y: float, v: float, s0: float, s1: float, part_s: float, time_s: float, w: Floats
) -> Any:
    """All rates at one stage.

    Returns (acceleration, rate of part_s, slip, device, feed, path, power, worn, tensions above
    and below, strains, viscous, mixing and mover power, all well).
    """
    take, feed, offset_m, offset_rate, sway_m, sway_rate, tool_n = drive_here(
        phase, time_s, part_s, w
    )
    limited = phase == r.RISE
    k = w[r.LINE_P + r.K]
    k_tau = w[r.LINE_P + r.K_TAU]
    down = y - w[r.REGIME_P + r.POINT]
    out = w[r.REGIME_P + r.OUT]
    ratio = w[r.RATIO + 1]
    length = down
    by_depth = 1.0
    by_sway = 0.0
    if w[r.REGIME_P + r.FIXED_BEND] == 0.0 or sway_m != 0.0 or out != 0.0 or down <= 0.0:
        length = math.sqrt(down * down + out * out + sway_m * sway_m)
        by_depth = down / length
        by_sway = sway_m / length
    if w[r.REGIME_P + r.FIXED_BEND] == 0.0:
        in_out = w[r.REGIME_P + r.IN_OUT]
        in_down = w[r.REGIME_P + r.IN_DOWN]
        across = in_out * down - in_down * out
        bend = math.atan2(
            math.sqrt(across * across + sway_m * sway_m), in_out * out + in_down * down
        )
        ratio = math.exp(w[r.MU + 1] * bend)
    rate = by_depth * v + by_sway * sway_rate - offset_rate
    length -= offset_m + w[r.REGIME_P + r.OFFSET_M]
    inverse0 = 1.0 / s0
    inverse1 = 1.0 / (s1 + w[r.LINE_P + r.BODY_M])
    e0 = (w[r.FREE] - s0) * inverse0
    e1 = (length - s1) * inverse1
    q, t0, t1, piece, ok = _slip(
        k * e0,
        k_tau * (1.0 + e0) * inverse0,
        k * e1 + k_tau * rate * inverse1,
        k_tau * (1.0 + e1) * inverse1,
        feed,
        take,
        limited,
        ratio,
        w,
    )
    part_rate = 0.0
    drawn = take
    if limited:
        part_rate = (w[r.LINE_P + r.FULL_N] - t1) * w[r.REGIME_P + r.PER_RANGE]
        part_rate = min(max(part_rate, 0.0), 1.0)
        drawn = take * part_rate
    ok = ok and e0 > 0.0 and e1 > 0.0 and t0 > 0.0 and t1 > 0.0 and piece != 4.0
    mean = 0.5 * (e0 + e1)
    speed = (1.0 + mean) * abs(q)
    power = abs(t1 - t0) * speed
    viscous = (t1 - k * e1) * (rate - (1.0 + e1) * (q - drawn)) - (t0 - k * e0) * (1.0 + e0) * (
        feed - q
    )
    return (
        w[r.LINE_P + r.GRAVITY] + (tool_n - t1 * by_depth) * w[r.REGIME_P + r.PER_MASS],
        part_rate,
        q,
        drawn,
        feed,
        speed,
        power,
        _worn(power, speed, max(t0, t1), w),
        t0,
        t1,
        e0,
        e1,
        viscous,
        (0.5 * (t0 + t1) - k * mean) * (e1 - e0) * q,
        tool_n * v + t1 * (by_sway * sway_rate - offset_rate),
        ok,
    )


@njit
def step_single(
    w: Floats, phase: int, y: float, v: float, part_s: float, time_s: float, h: float
) -> Any:
    """Classical RK4 over h [s] as `stage.step`, for one edge; leaves the change in the D rows.

    Returns (y, v, part_s at the end, whether it could be done this way).
    """
    k = w[r.LINE_P + r.K]
    s0 = w[r.SPAN]
    s1 = w[r.SPAN + 1]
    y1, v1, p1 = y, v, part_s
    m0, m1 = s0, s1
    dy = dv = dp = dq = dd = df = path = energy = worn = 0.0
    device = leaves = fed = mover = viscous = mixing = 0.0
    for stage in range(4):
        weight = h / 6.0 if stage == 0 or stage == 3 else h / 3.0
        share = 0.0 if stage == 0 else (h if stage == 3 else 0.5 * h)
        a, pr, q, d, f, c, p, x, t0, t1, e0, e1, vi, mi, mo, ok = _flow(
            phase, y1, v1, m0, m1, p1, time_s + share, w
        )
        if not ok:
            return y, v, part_s, False
        if stage == 0:
            w[r.T_START] = t0
            w[r.T_START + 1] = t1
            w[r.Q_START + 1] = q
        elif stage == 2:
            w[r.T_MIDDLE] = t0
            w[r.T_MIDDLE + 1] = t1
            w[r.Q_MIDDLE + 1] = q
        elif stage == 3:
            w[r.T] = t0
            w[r.T + 1] = t1
            w[r.Q + 1] = q
            w[r.STRAIN] = e0
            w[r.STRAIN + 1] = e1
        dy += weight * v1
        dv += weight * a
        dp += weight * pr
        dq += weight * q
        dd += weight * d
        df += weight * f
        path += weight * c
        energy += weight * p
        worn += weight * x
        device += weight * t1 * (1.0 + e1) * d
        leaves += weight * 0.5 * k * e1 * e1 * d
        fed += weight * f * (0.5 * k * e0 * e0 - t0 * (1.0 + e0))
        mover += weight * mo
        viscous += weight * vi
        mixing += weight * mi
        reach = h if stage == 2 else 0.5 * h
        y1 = y + reach * v1
        v1 = v + reach * a
        p1 = part_s + reach * pr
        m0 = s0 + reach * (f - q)
        m1 = s1 + reach * (q - d)
    w[r.D_SPAN] = df - dq
    w[r.D_SPAN + 1] = dq - dd
    w[r.D_SLIP] = df
    w[r.D_SLIP + 1] = dq
    w[r.D_SLIP + 2] = dd
    w[r.D_PATH + 1] = path
    w[r.D_ENERGY + 1] = energy
    w[r.D_EXPOSURE + 1] = worn
    w[r.GLOBAL + r.DEVICE] = device
    w[r.GLOBAL + r.LEAVES] = leaves
    w[r.GLOBAL + r.FEED_WORK] = fed
    w[r.GLOBAL + r.MOVER] = mover
    w[r.GLOBAL + r.VISCOUS] = viscous
    w[r.GLOBAL + r.FRICTION] = energy
    w[r.GLOBAL + r.MIXING] = mixing
    return y + dy, v + dv, part_s + dp, True
