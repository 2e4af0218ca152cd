"""The step of a line over one edge, all in registers: most ascents are of this kind.

Same equations and same scheme as `stage`, without the scratch rows: both spans taut, the device
alone moving, Coulomb friction with static equal to kinetic. What it cannot do it leaves to the
general step.
"""

from __future__ import annotations

import math
from typing import Any

from edgewear.mechanics import scratch as r
from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.jit import inlined, njit
from edgewear.mechanics.movement.mover import device_here
from edgewear.mechanics.step.flow import SIXTH, Taut, early, flows, slip, springs
from edgewear.mechanics.step.last_span import last_bend


@njit
def is_single(n: int, phase: int, w: Floats) -> Any:
    """Whether the one-edge step may be tried."""
    return (
        n == 1
        and phase != r.FEED
        and phase != r.WORK
        and w[r.TAUT] != 0.0
        and w[r.TAUT + 1] != 0.0
        and w[r.LINE_P + r.ANY_STATIC] == 0.0
        and w[r.LINE_P + r.ANY_POWER] == 0.0
        and w[r.REGIME_P + r.CLOSED] != 0.0
    )


@inlined
def _shape(y: float, w: Floats) -> Any:
    """Last free length, its derivative by depth, exp(mu*bend) and its inverse."""
    down = y - w[r.REGIME_P + r.POINT]
    out = w[r.REGIME_P + r.OUT]
    if w[r.REGIME_P + r.FIXED_BEND] != 0.0:
        if out == 0.0 and down > 0.0:
            return down, 1.0, w[r.RATIO + 1], w[r.FALLS + 1]
        length = math.sqrt(down * down + out * out)
        return length, down / length, w[r.RATIO + 1], w[r.FALLS + 1]
    length = math.sqrt(down * down + out * out)
    ratio = math.exp(w[r.MU + 1] * last_bend(y, 0.0, w))
    return length, down / length, ratio, 1.0 / ratio


@inlined
def taut_line(w: Floats) -> Any:
    """Constants of the line as the flow wants them."""
    return Taut(
        w[r.LINE_P + r.K], w[r.LINE_P + r.K_TAU], w[r.FREE], w[r.LINE_P + r.GRAVITY],
        w[r.REGIME_P + r.PER_MASS], w[r.LINE_P + r.WEIGHT_N], w[r.LINE_P + r.FULL_N],
        w[r.REGIME_P + r.PER_RANGE], w[r.LINE_P + r.CAP_N], w[r.LINE_P + r.LAW],
        w[r.LINE_P + r.COLD], w[r.LINE_P + r.PER_SPEED], w[r.LINE_P + r.THRESHOLD],
        w[r.GAIN + 1], w[r.SEVERITY + 1], w[r.AREA + 1],
    )  # fmt: skip


@inlined
def _flow(
    phase: int,
    y: float,
    v: float,
    s0: float,
    d1: float,
    part_s: float,
    time_s: float,
    c: Taut,
    w: Floats,
) -> Any:
    """All rates at one stage.

    s0, d1: unstretched rope above and below the edge, below with the body's share [m].
    Returns (acceleration, rate of part_s, slip, device, path, power, worn, tensions above and
    below, strains, K*e below, viscous and mixing power, all well).
    """
    take = device_here(phase, time_s, part_s, w)
    length, by_depth, ratio, falls = _shape(y, w)
    length += w[r.LINE_P + r.BODY_M] - w[r.REGIME_P + r.OFFSET_M]
    e0, e1, a0, b0, a1, b1, elastic1 = springs(length, by_depth, v, s0, d1, c)
    q, t0, t1, part, ok = slip(a0, b0, a1, b1, take, phase == r.RISE, ratio, falls, c)
    drawn = take * part
    a, speed, power, worn, viscous, mixing = flows(
        by_depth, v, drawn, e0, e1, a0, elastic1, q, t0, t1, c
    )
    ok = ok and e0 > 0.0 and e1 > 0.0
    return a, part, q, drawn, speed, power, worn, t0, t1, e0, e1, elastic1, viscous, mixing, ok


@njit
def step_single(
    w: Floats, phase: int, y: float, v: float, part_s: float, time_s: float, h: float
) -> Any:
    """Classical RK4 over h [s] as `stage.step`, for one edge; leaves the change in the D rows.

    Returns (y, v, part_s at the end, whether it could be done this way).
    """
    line = taut_line(w)
    s0 = w[r.SPAN]
    d1 = w[r.SPAN + 1] + w[r.LINE_P + r.BODY_M]
    y1, v1, p1 = y, v, part_s
    m0, m1 = s0, d1
    dy = dv = dp = dq = dd = path = energy = worn = 0.0
    device = leaves = viscous = mixing = q_start = worn_start = q = x = 0.0
    sixth = h * SIXTH
    for stage in range(4):
        weight = sixth if stage == 0 or stage == 3 else 2.0 * sixth
        share = 0.0 if stage == 0 else (h if stage == 3 else 0.5 * h)
        a, pr, q, d, c, p, x, t0, t1, e0, e1, elastic1, vi, mi, ok = _flow(
            phase, y1, v1, m0, m1, p1, time_s + share, line, w
        )
        if not ok:
            return y, v, part_s, False
        if stage == 0:
            w[r.T_START] = t0
            w[r.T_START + 1] = t1
            w[r.Q_START + 1] = q
            q_start, worn_start = q, x
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
        path += weight * c
        energy += weight * p
        worn += weight * x
        device += (weight * d) * (t1 * (1.0 + e1))
        leaves += (weight * d) * (0.5 * elastic1 * e1)
        viscous += weight * vi
        mixing += weight * mi
        reach = h if stage == 2 else 0.5 * h
        y1 = y + reach * v1
        v1 = v + reach * a
        p1 = part_s + reach * pr
        m0 = s0 - reach * q
        m1 = d1 + reach * (q - d)
    w[r.D_SPAN] = -dq
    w[r.D_SPAN + 1] = dq - dd
    w[r.D_SLIP] = 0.0
    w[r.D_SLIP + 1] = dq
    w[r.D_SLIP + 2] = dd
    w[r.D_PATH + 1] = path
    w[r.D_ENERGY + 1] = energy
    w[r.D_EXPOSURE + 1] = worn
    w[r.EARLY_SLIP + 1] = early(dq, q_start, q, h)
    w[r.EARLY_EXPOSURE + 1] = early(worn, worn_start, x, h)
    w[r.GLOBAL + r.DEVICE] = device
    w[r.GLOBAL + r.LEAVES] = leaves
    w[r.GLOBAL + r.FEED_WORK] = 0.0
    w[r.GLOBAL + r.MOVER] = 0.0
    w[r.GLOBAL + r.VISCOUS] = viscous
    w[r.GLOBAL + r.FRICTION] = energy
    w[r.GLOBAL + r.MIXING] = mixing
    return y + dy, v + dv, part_s + dp, True
