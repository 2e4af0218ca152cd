"""One Runge-Kutta step of a line with a fixed contact set.

State: depth y, speed v, unstretched rope s_0 .. s_n, progress of a force-limited rise. Strain
e_i = l_i/s_i - 1, tension T_i = K*(e_i + tau*e_i'), e_i' = (l_i' - (1 + e_i)*s_i')/s_i. The body
spring has the rope's tau, so it is exactly c = K/k_body of further rope in the last span:
e_N = (L - s_N)/(s_N + c), with L the distance from the last point to the load.
"""

from __future__ import annotations

import math
from typing import Any

from edgewear.mechanics import rows as r
from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.drive import drive
from edgewear.mechanics.jit import njit
from edgewear.mechanics.slip import classify, classify_here, solve_any, tridiagonal_here

STRAIGHT = 1e-10
"""A span flagged taut is slack below minus this strain, so that re-tension is seen at once."""


@njit
def capstan(
    ratio: float, shift: float, before: float, mu: float, bend: float, radius_m: float, power: float
) -> Any:
    """RATIO and SHIFT of an edge with power-law friction, tangent at the lower tension.

    T_hi = [T_lo^(1-n) + (1-n)*a*R^(1-n)*theta]^(1/(1-n)), a = mu, n = power < 1;
    slope (T_hi/T_lo)^n.
    """
    less = 1.0 - power
    low = max(before, 1e-6)
    high = (low**less + less * mu * radius_m**less * bend) ** (1.0 / less)
    slope = (high / low) ** power
    return slope, high - slope * low


@njit
def last_length(y: float, v: float, sway_m: float, sway_rate: float, w: Floats) -> Any:
    """Last free length, its rate, its derivative by depth and by sway, of a closed regime."""
    down = y - w[r.REGIME_P + r.POINT]
    out = w[r.REGIME_P + r.OUT]
    length = math.sqrt(down * down + out * out + sway_m * sway_m)
    return length, (down * v + sway_m * sway_rate) / length, down / length, sway_m / length


@njit
def last_bend(y: float, sway_m: float, w: Floats) -> Any:
    """Wrap angle at the last edge of a closed regime, between incoming rope and load."""
    down = y - w[r.REGIME_P + r.POINT]
    out = w[r.REGIME_P + r.OUT]
    in_out = w[r.REGIME_P + r.IN_OUT]
    in_down = w[r.REGIME_P + r.IN_DOWN]
    along = in_out * out + in_down * down
    across = in_out * down - in_down * out
    return math.atan2(math.sqrt(across * across + sway_m * sway_m), along)


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
                    0.0, 0.0, low, w[r.MU + j], w[r.BEND + j], w[r.RADIUS + j], w[r.POWER + j]
                )
                change = (slope - w[r.RATIO + j]) * low + shift - w[r.SHIFT + j]
                moved = max(moved, abs(change) / (1.0 + low))
                w[r.RATIO + j] = slope
                w[r.SHIFT + j] = shift
        if moved < 1e-12:
            return True
    return False


def make_stepper(fixed: int):  # type: ignore[no-untyped-def]
    """Compile the step for a fixed number of edges (loops unrolled), or for any if 0."""

    @njit
    def stage(
        count: int,
        w: Floats,
        phase: int,
        y: float,
        v: float,
        part_s: float,
        time_s: float,
        weight: float,
    ) -> Any:
        """Rates at one stage into RATE; weighted flows onto the sums. Span material in STAGE.

        Returns (acceleration, rate of part_s, whether something was solved).
        """
        n = fixed if fixed > 0 else count
        take, feed, offset_m, offset_rate, sway_m, sway_rate, tool_n = drive(
            phase, time_s, part_s, w
        )
        limited = phase == r.RISE
        k = w[r.LINE_P + r.K]
        k_tau = w[r.LINE_P + r.K_TAU]
        closed = w[r.REGIME_P + r.CLOSED] != 0.0
        fall_m = y - w[r.REGIME_P + r.LOW]
        by_sway = 0.0
        # strains, and the slip problem's coefficients
        for i in range(n + 1):
            rate = w[r.SLOPE + i] * v
            length = w[r.FREE + i] + w[r.SLOPE + i] * fall_m
            extra = 0.0
            if i == n:
                if closed:
                    length, rate, w[r.SLOPE + n], by_sway = last_length(y, v, sway_m, sway_rate, w)
                length -= offset_m + w[r.REGIME_P + r.OFFSET_M]
                rate -= offset_rate
                extra = w[r.LINE_P + r.BODY_M]
            material = w[r.STAGE + i]
            inverse = 1.0 / (material + extra)
            strain = (length - material) * inverse
            if w[r.TAUT + i] != 0.0 and strain > -STRAIGHT:
                w[r.A + i] = k * strain + k_tau * rate * inverse
                w[r.B + i] = k_tau * (1.0 + strain) * inverse
                w[r.STRAIN + i] = strain
            else:
                w[r.A + i] = 0.0
                w[r.B + i] = 0.0
                w[r.STRAIN + i] = 0.0
            w[r.RATE + i] = rate
        if closed:
            if n > 0 and w[r.REGIME_P + r.FIXED_BEND] == 0.0:
                w[r.BEND + n] = last_bend(y, sway_m, w)
                w[r.RATIO + n] = math.exp(w[r.MU + n] * w[r.BEND + n])
        else:
            for j in range(1, n + 1):
                if w[r.BEND_SLOPE + j] != 0.0:
                    bend = w[r.BEND + j] + w[r.BEND_SLOPE + j] * fall_m
                    w[r.RATIO + j] = math.exp(w[r.MU + j] * bend)
        # slips
        w[r.Q + 0] = feed
        solved = True
        if w[r.LINE_P + r.ANY_POWER] != 0.0:
            solved = refine_power(n, w, take, limited)
        elif n > 0:
            done = False
            for passes in range(4):
                changed = classify_here(n, w, take, limited)
                if passes > 0 and not changed:
                    done = w[r.DIAGONAL] == 0.0  # no rate was guessed
                    break
                tridiagonal_here(n, w, False)
            if not done:
                solved = solve_any(n, w, take, limited) >= 0
        else:
            classify(n, w, take, limited)
        tension = w[r.T + n]
        # the device: what it really takes in
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
        w[r.D_SLIP + 0] += weight * feed
        w[r.D_SLIP + n + 1] += weight * drawn
        # rates of the material, and where energy goes
        viscous = 0.0
        pull = 0.0
        for i in range(n + 1):
            change = w[r.Q + i] - w[r.Q + i + 1]
            strain = w[r.STRAIN + i]
            if strain != 0.0 or w[r.B + i] != 0.0:
                over = w[r.T + i] - k * strain
                viscous += over * (w[r.RATE + i] - (1.0 + strain) * change)
            pull += w[r.T + i] * w[r.SLOPE + i]
            w[r.RATE + i] = change
            w[r.D_SPAN + i] += weight * change
        friction = 0.0
        mixing = 0.0
        for j in range(1, n + 1):
            q = w[r.Q + j]
            if q != 0.0:
                before = w[r.T + j - 1]
                after = w[r.T + j]
                mean = 0.5 * (w[r.STRAIN + j - 1] + w[r.STRAIN + j])
                speed = (1.0 + mean) * abs(q)
                power = abs(after - before) * speed
                friction += power
                mixing += (
                    (0.5 * (before + after) - k * mean)
                    * (w[r.STRAIN + j] - w[r.STRAIN + j - 1])
                    * q
                )
                law = w[r.LINE_P + r.LAW]
                if law == 0.0:
                    worn = (
                        power
                        * max(before, after)
                        * w[r.GAIN + j]
                        * (w[r.LINE_P + r.COLD] + speed * w[r.LINE_P + r.PER_SPEED])
                    )
                elif law == 1.0:
                    worn = power * w[r.SEVERITY + j]
                else:
                    above = power - w[r.LINE_P + r.THRESHOLD] * w[r.AREA + j]
                    worn = w[r.SEVERITY + j] * (w[r.LINE_P + r.COLD] * power + max(above, 0.0))
                w[r.D_SLIP + j] += weight * q
                w[r.D_PATH + j] += weight * speed
                w[r.D_ENERGY + j] += weight * power
                w[r.D_EXPOSURE + j] += weight * worn
        last = w[r.STRAIN + n]
        first = w[r.STRAIN + 0]
        w[r.GLOBAL + r.DEVICE] += weight * tension * (1.0 + last) * drawn
        w[r.GLOBAL + r.LEAVES] += weight * 0.5 * k * last * last * drawn
        if feed != 0.0:
            w[r.GLOBAL + r.FEED_WORK] += (
                weight * feed * (0.5 * k * first * first - w[r.T + 0] * (1.0 + first))
            )
        w[r.GLOBAL + r.MOVER] += weight * (
            tool_n * v + tension * (by_sway * sway_rate - offset_rate)
        )
        w[r.GLOBAL + r.VISCOUS] += weight * viscous
        w[r.GLOBAL + r.FRICTION] += weight * friction
        w[r.GLOBAL + r.MIXING] += weight * mixing
        return (
            w[r.LINE_P + r.GRAVITY] + (tool_n - pull) / w[r.LINE_P + r.MASS],
            part_rate,
            solved,
        )

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
        n = fixed if fixed > 0 else count
        for i in range(n + 2):
            w[r.STAGE + i] = w[r.SPAN + i]
            w[r.D_SPAN + i] = 0.0
            w[r.D_SLIP + i] = 0.0
            w[r.D_PATH + i] = 0.0
            w[r.D_ENERGY + i] = 0.0
            w[r.D_EXPOSURE + i] = 0.0
            w[r.Q + i] = 0.0
        for i in range(8):
            w[r.GLOBAL + i] = 0.0
        half = 0.5 * h
        sixth = h / 6.0
        third = h / 3.0
        a1, p1, ok1 = stage(n, w, phase, y, v, part_s, time_s, sixth)
        for i in range(n + 1):
            w[r.T_START + i] = w[r.T + i]
            w[r.Q_START + i] = w[r.Q + i]
            w[r.STAGE + i] = w[r.SPAN + i] + half * w[r.RATE + i]
        v2 = v + half * a1
        a2, p2, ok2 = stage(n, w, phase, y + half * v, v2, part_s + half * p1, time_s + half, third)
        for i in range(n + 1):
            w[r.STAGE + i] = w[r.SPAN + i] + half * w[r.RATE + i]
        v3 = v + half * a2
        a3, p3, ok3 = stage(
            n, w, phase, y + half * v2, v3, part_s + half * p2, time_s + half, third
        )
        for i in range(n + 1):
            w[r.T_MIDDLE + i] = w[r.T + i]
            w[r.Q_MIDDLE + i] = w[r.Q + i]
            w[r.STAGE + i] = w[r.SPAN + i] + h * w[r.RATE + i]
        v4 = v + h * a3
        a4, p4, ok4 = stage(n, w, phase, y + h * v3, v4, part_s + h * p3, time_s + h, sixth)
        return (
            y + sixth * (v + 2.0 * (v2 + v3) + v4),
            v + sixth * (a1 + 2.0 * (a2 + a3) + a4),
            part_s + sixth * (p1 + 2.0 * (p2 + p3) + p4),
            ok1 and ok2 and ok3 and ok4,
        )

    return stage, step


stage_any, step_any = make_stepper(0)
