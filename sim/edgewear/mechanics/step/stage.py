"""One Runge-Kutta step of a line with a fixed contact set.

State: depth y, speed v, unstretched rope s_0 .. s_n, progress of a force-limited rise. Strain
e_i = l_i/s_i - 1, tension T_i = K*(e_i + tau*e_i'), e_i' = (l_i' - (1 + e_i)*s_i')/s_i. The body
spring has the rope's tau, so it is exactly c = K/k_body of further rope in the last span:
e_N = (L - s_N)/(s_N + c), with L the distance from the last point to the load.
"""

from __future__ import annotations

import math
from typing import Any

from edgewear.mechanics import scratch as r
from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.jit import inlined, njit
from edgewear.mechanics.movement.mover import drive_here
from edgewear.mechanics.slip.slip import classify, solve_any
from edgewear.mechanics.slip.slip_taut import solve_taut
from edgewear.mechanics.step.flow import SIXTH, early
from edgewear.mechanics.step.last_span import aside, bend_aside, last_bend, last_length
from edgewear.mechanics.step.near_one import SMALL, near_one
from edgewear.mechanics.wear.wear import worn_at

STRAIGHT = 1e-10
"""A span flagged taut is slack below minus this strain, so that re-tension is seen at once."""


@njit
def capstan(
    ratio: float, shift: float, before: float, mu: float, bend: float, radius_m: float, power: float
) -> Any:
    """RATIO and SHIFT of an edge with power-law friction, tangent at the lower tension.

    T_hi = [T_lo^(1-n) + (1-n)*a*R^(1-n)*theta]^(1/(1-n)), a = mu, n = power < 1;
    slope (T_hi/T_lo)^n. The integral of dT/dtheta = a*R^(1-n)*T^n, derived; n = 1 is the capstan.
    """
    less = 1.0 - power
    low = max(before, 1e-6)
    high = (low**less + less * mu * radius_m**less * bend) ** (1.0 / less)
    slope = (high / low) ** power
    return slope, high - slope * low


@njit
def refine_power(n: int, w: Floats, take: float, limited: bool) -> Any:
    """Solve with power-law edges: renew their tangents until the rates stand; False: did not."""
    for _ in range(40):
        if solve_any(n, w, take, limited) < 0:
            return False
        moved = 0.0
        for j in range(1, n + 1):
            if w[r.POWER + j] != 1.0:
                low = min(w[r.T + j - 1], w[r.T + j])
                slope, shift = capstan(
                    0.0, 0.0, low, w[r.MU + j], w[r.TURNED + j], w[r.RADIUS + j], w[r.POWER + j]
                )
                change = (slope - w[r.RATIO + j]) * low + shift - w[r.SHIFT + j]
                moved = max(moved, abs(change) / (1.0 + low))
                w[r.RATIO + j] = slope
                w[r.SHIFT + j] = shift
        if moved < 1e-12:
            return True
    return False


@njit
def set_ratio(j: int, bend: float, w: Floats) -> None:
    """Factors exp(mu*theta) and exp(-mu*theta) of edge j."""
    w[r.RATIO + j] = math.exp(w[r.MU + j] * bend)
    w[r.FALLS + j] = 1.0 / w[r.RATIO + j]


@njit
def set_bend(j: int, bend: float, w: Floats) -> None:
    """Bend of edge j, and its factors."""
    w[r.BEND + j] = bend
    w[r.TURNED + j] = bend
    set_ratio(j, bend, w)


@inlined
def _turn(j: int, more: float, w: Floats) -> None:
    """Factors of edge j, whose bend is so much more than where it begins."""
    x = w[r.MU + j] * more
    w[r.TURNED + j] = w[r.BEND + j] + more
    if abs(x) > SMALL:
        set_ratio(j, w[r.TURNED + j], w)
        return
    w[r.RATIO + j] = w[r.START_RATIO + j] * near_one(x)
    w[r.FALLS + j] = 1.0 / w[r.RATIO + j]


@inlined
def _strain(
    i: int, length: float, rate: float, extra: float, k: float, k_tau: float, w: Floats
) -> Any:
    """Strain of a span and its part of the slip problem; False: it is slack.

    e = (l - s)/s and T = K*(e + tau*e') (Kelvin-Voigt; model page 2.4), solved for the slip rates:
    GIVE - EASE*T is the rope that it takes in a second, EASE = s^2/(K*tau*l).
    """
    material = w[r.STAGE + i] + extra
    stretch = length - material
    inverse = 1.0 / (material * length)  # one division: of all that a stage does it takes longest
    strain = stretch * (length * inverse)
    w[r.RATE + i] = rate
    if w[r.TAUT + i] == 0.0 or not strain > -STRAIGHT:
        w[r.STRAIN + i] = 0.0
        w[r.EASE + i] = -1.0
        return False
    per_damping = material * (material * inverse) * w[r.LINE_P + r.PER_K_TAU]
    w[r.STRAIN + i] = strain
    w[r.EASE + i] = material * per_damping
    w[r.GIVE + i] = (k * stretch + k_tau * rate) * per_damping
    return True


@njit
def _solve_closely(
    n: int, w: Floats, feed: float, take: float, limited: bool, k: float, k_tau: float
) -> Any:
    """The slip problem where something is limp, at the device's limit, or not of plain friction."""
    for i in range(n + 1):
        w[r.A + i] = 0.0
        w[r.B + i] = 0.0
        if w[r.EASE + i] >= 0.0:
            extra = w[r.LINE_P + r.BODY_M] if i == n else 0.0
            inverse = 1.0 / (w[r.STAGE + i] + extra)
            w[r.A + i] = k * w[r.STRAIN + i] + k_tau * w[r.RATE + i] * inverse
            w[r.B + i] = k_tau * (1.0 + w[r.STRAIN + i]) * inverse
        w[r.Q + i + 1] = 0.0
    w[r.Q] = feed
    if n == 0:
        classify(n, w, take, limited)
        return True
    if w[r.LINE_P + r.ANY_POWER] != 0.0:
        return refine_power(n, w, take, limited)
    return solve_any(n, w, take, limited) >= 0


@inlined
def _book_flows(n: int, w: Floats, k: float, weight: float) -> Any:
    """Weighted slip, path, energy and exposure at every edge onto the sums; returns mixing.

    v = (1 + e_m)*|q|, P = |T_j - T_(j-1)|*v (model page 6.1). Mixing: energy lost because rope of
    one strain joins rope of another, [(T_(j-1) + T_j)/2 - K*e_m]*(e_j - e_(j-1))*q (derived).
    """
    mixing = 0.0
    for j in range(1, n + 1):
        q = w[r.Q + j]
        w[r.WORN + j] = 0.0
        if q == 0.0:
            continue
        before = w[r.T + j - 1]
        after = w[r.T + j]
        mean = 0.5 * (w[r.STRAIN + j - 1] + w[r.STRAIN + j])
        speed = (1.0 + mean) * abs(q)
        power = abs(after - before) * speed
        stretches = w[r.STRAIN + j] - w[r.STRAIN + j - 1]
        mixing += (0.5 * (before + after) - k * mean) * stretches * q
        w[r.D_SLIP + j] += weight * q
        w[r.D_PATH + j] += weight * speed
        w[r.D_ENERGY + j] += weight * power
        worn = worn_at(j, power, speed, max(before, after), w)
        w[r.D_EXPOSURE + j] += weight * worn
        w[r.WORN + j] = worn
    return mixing


@inlined
def _spans(n: int, driven: Any, y: float, v: float, k: float, k_tau: float, w: Floats) -> Any:
    """Strains and the slip problem of every span.

    Returns (whether all is plain, last free length's derivative by depth, by sway).
    """
    _, _, offset_m, offset_rate, sway_m, sway_rate, _ = driven
    fall_m = y - w[r.REGIME_P + r.LOW]
    by_sway = 0.0
    if w[r.REGIME_P + r.CLOSED] != 0.0:
        length, by_depth, by_sway = last_length(y, sway_m, w)
        rate = by_depth * v + by_sway * sway_rate
        if n > 0 and w[r.REGIME_P + r.FIXED_BEND] == 0.0:
            set_bend(n, last_bend(y, sway_m, w), w)
    else:
        plumb_m = w[r.FREE + n] + w[r.SLOPE + n] * fall_m
        length, share, by_sway = aside(plumb_m, sway_m)
        by_depth = w[r.SLOPE + n] * share
        rate = by_depth * v + by_sway * sway_rate
        for j in range(1, n + 1):
            more = w[r.BEND_SLOPE + j] * fall_m
            if j == n and (sway_m != 0.0 or sway_rate != 0.0):
                bend = w[r.BEND + n] + more
                _turn(n, more + bend_aside(bend, by_sway, w[r.REGIME_P + r.TILT]) - bend, w)
            elif w[r.BEND_SLOPE + j] != 0.0:
                _turn(j, more, w)
    plain = n > 0 and w[r.LINE_P + r.ANY_STATIC] == 0.0 and w[r.LINE_P + r.ANY_POWER] == 0.0
    for i in range(n):
        slope = w[r.SLOPE + i]
        fine = _strain(i, w[r.FREE + i] + slope * fall_m, slope * v, 0.0, k, k_tau, w)
        plain = plain and fine
    length -= offset_m + w[r.REGIME_P + r.OFFSET_M]
    extra = w[r.LINE_P + r.BODY_M]
    fine = _strain(n, length + extra, rate - offset_rate, extra, k, k_tau, w)
    return plain and fine, by_depth, by_sway


@inlined
def _device(n: int, w: Floats, take: float, limited: bool) -> Any:
    """What the device really takes in; returns (rate of part_s, that)."""
    tension = w[r.T + n]
    part_rate = 0.0
    drawn = take
    if limited:
        part_rate = (w[r.LINE_P + r.FULL_N] - tension) * w[r.REGIME_P + r.PER_RANGE]
        part_rate = min(max(part_rate, 0.0), 1.0)
        drawn = take * part_rate
    if w[r.PIECE + n] == 4.0:
        drawn = w[r.Q + n]
        if w[r.B + n] > 0.0:
            drawn -= (w[r.A + n] - tension) / w[r.B + n]
    w[r.Q + n + 1] = drawn
    return part_rate, drawn


@inlined
def _book_ends(n: int, w: Floats, k: float, weight: float, feed: float, drawn: float) -> None:
    """Weighted flows at the device and at the anchor end onto the sums."""
    tension = w[r.T + n]
    last = w[r.STRAIN + n]
    w[r.D_SLIP + 0] += weight * feed
    w[r.D_SLIP + n + 1] += weight * drawn
    w[r.GLOBAL + r.DEVICE] += weight * tension * (1.0 + last) * drawn
    w[r.GLOBAL + r.LEAVES] += weight * 0.5 * k * last * last * drawn
    if feed != 0.0:
        first = w[r.STRAIN + 0]
        w[r.GLOBAL + r.FEED_WORK] += (
            weight * feed * (0.5 * k * first * first - w[r.T + 0] * (1.0 + first))
        )


@inlined
def _stage(
    n: int, w: Floats, driven: Any, limited: bool, y: float, v: float, weight: float, reach: float
) -> Any:
    """Rates at one stage; weighted flows onto the sums. Span material in STAGE.

    driven: from `drive`; limited: a rise. weight: of the stage in the sums; reach: to the next
    stage [s], its material to STAGE. Returns (acceleration, rate of part_s, whether something was
    solved).
    """
    take, feed, _, offset_rate, _, sway_rate, tool_n = driven
    k = w[r.LINE_P + r.K]
    k_tau = w[r.LINE_P + r.K_TAU]
    plain, by_depth, by_sway = _spans(n, driven, y, v, k, k_tau, w)
    w[r.Q] = feed
    solved = True
    if not (plain and solve_taut(n, w, feed, take, limited)):
        solved = _solve_closely(n, w, feed, take, limited, k, k_tau)
    part_rate, drawn = _device(n, w, take, limited)
    # rates of the material, and where energy goes
    viscous = 0.0
    pull = 0.0
    for i in range(n + 1):
        change = w[r.Q + i] - w[r.Q + i + 1]
        strain = w[r.STRAIN + i]
        viscous += (w[r.T + i] - k * strain) * (w[r.RATE + i] - (1.0 + strain) * change)
        pull += w[r.T + i] * (w[r.SLOPE + i] if i < n else by_depth)
        w[r.STAGE + i] = w[r.SPAN + i] + reach * change
    mixing = _book_flows(n, w, k, weight)
    _book_ends(n, w, k, weight, feed, drawn)
    w[r.GLOBAL + r.MOVER] += weight * (
        tool_n * v + w[r.T + n] * (by_sway * sway_rate - offset_rate)
    )
    w[r.GLOBAL + r.VISCOUS] += weight * viscous
    w[r.GLOBAL + r.MIXING] += weight * mixing
    fall = w[r.LINE_P + r.GRAVITY] + (tool_n - pull) * w[r.REGIME_P + r.PER_MASS]
    return fall, part_rate, solved


ANY = -1
"""Any number of edges."""


def make_stepper(fixed: int):  # type: ignore[no-untyped-def]
    """Compile the step for a fixed number of edges (loops unrolled), or for any if `ANY`."""

    @njit
    def stage(
        count: int, w: Floats, driven: Any, limited: bool, y: float, v: float,
        weight: float, reach: float,
    ) -> Any:  # fmt: skip
        """Rates at one stage, see `_stage`."""
        n = fixed if fixed >= 0 else count
        return _stage(n, w, driven, limited, y, v, weight, reach)

    @njit
    def step(
        count: int,
        w: Floats,
        phase: int,
        y: float,
        v: float,
        part_s: float,
        time_s: float,
        h: float,
    ) -> Any:
        """Classical RK4 over h [s] from SPAN; leaves the change in the D rows.

        Returns (y, v, part_s at the end, whether all was solved).
        """
        n = fixed if fixed >= 0 else count
        for i in range(r.D_EXPOSURE - r.D_SLIP + 16):  # four rows, one after the other
            w[r.D_SLIP + i] = 0.0
        for i in range(8):
            w[r.GLOBAL + i] = 0.0
        for i in range(n + 1):
            w[r.STAGE + i] = w[r.SPAN + i]
        half, sixth, third = 0.5 * h, h * SIXTH, 2.0 * (h * SIXTH)
        rises = phase == r.RISE
        driven = drive_here(phase, time_s, part_s, w)
        a1, p1, ok1 = stage(n, w, driven, rises, y, v, sixth, half)
        for i in range(n + 1):
            w[r.T_START + i] = w[r.T + i]
            w[r.Q_START + i] = w[r.Q + i]
            w[r.WORN_START + i] = w[r.WORN + i]
        v2 = v + half * a1
        driven = drive_here(phase, time_s + half, part_s + half * p1, w)
        a2, p2, ok2 = stage(n, w, driven, rises, y + half * v, v2, third, half)
        v3 = v + half * a2
        if rises:  # else the same instant again
            driven = drive_here(phase, time_s + half, part_s + half * p2, w)
        a3, p3, ok3 = stage(n, w, driven, rises, y + half * v2, v3, third, h)
        for i in range(n + 1):
            w[r.T_MIDDLE + i] = w[r.T + i]
            w[r.Q_MIDDLE + i] = w[r.Q + i]
        v4 = v + h * a3
        driven = drive_here(phase, time_s + h, part_s + h * p3, w)
        a4, p4, ok4 = stage(n, w, driven, rises, y + h * v3, v4, sixth, 0.0)
        friction = 0.0
        for i in range(n + 1):
            w[r.D_SPAN + i] = w[r.D_SLIP + i] - w[r.D_SLIP + i + 1]
            friction += w[r.D_ENERGY + i]
            w[r.EARLY_SLIP + i] = early(w[r.D_SLIP + i], w[r.Q_START + i], w[r.Q + i], h)
            w[r.EARLY_EXPOSURE + i] = early(
                w[r.D_EXPOSURE + i], w[r.WORN_START + i], w[r.WORN + i], h
            )
        w[r.GLOBAL + r.FRICTION] = friction
        return (
            y + sixth * (v + 2.0 * (v2 + v3) + v4),
            v + sixth * (a1 + 2.0 * (a2 + a3) + a4),
            part_s + sixth * (p1 + 2.0 * (p2 + p3) + p4),
            ok1 and ok2 and ok3 and ok4,
        )

    return stage, step


stage_any, step_any = make_stepper(ANY)
_, step_free = make_stepper(0)
_, step_two = make_stepper(2)
