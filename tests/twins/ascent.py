"""An ascent over one edge in plain Python: the slow twin of the kernels' step.

The same algorithm, written apart: a list for each quantity, no rows, no active set. One edge of
given bend, equal static and kinetic friction, a rope that never goes slack.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, NamedTuple

from edgewear.terms import GRAVITY_M_S2

TICK_S = 1e-4
RISE, DROP, PAUSE = range(3)


class Climb(NamedTuple):
    """One line, one climber and how they climb; names and units as in the kernels' records."""

    stiffness_n: float
    viscous_s: float
    diameter_m: float
    friction: float
    radius_m: float
    after_m: float
    bend_rad: float
    mass_kg: float
    body_stiffness_n_m: float
    force_ratio: float
    depth_m: float
    length_m: float
    rise_m: float
    sit_back_m: float
    rise_s: float
    drop_s: float
    pause_s: float
    gain: float  # exposure per joule, newton of tension and unit of pace
    cold_share: float
    reference_speed_m_s: float
    cell_m: float
    cells: int
    left_m: float
    sheath_j_m: float = math.inf  # exposure at which the core shows


class Flow(NamedTuple):
    """Rates at one instant."""

    acceleration: float
    progress: float
    spans: tuple[float, float]
    slip: float
    path: float
    power: float
    exposure: float
    tensions: tuple[float, float]


def minimum_jerk(x: float) -> float:
    """Rate of a minimum-jerk movement from 0 to 1."""
    return 30.0 * (x * (1.0 - x)) ** 2 if 0.0 < x < 1.0 else 0.0


def tension_at_person(c: Climb, x: float, damping: float, take: float, rising: bool) -> float:
    """Tension below the edge, with the device standing still it would be x."""
    weight = c.mass_kg * GRAVITY_M_S2
    if not rising:
        return max(0.0, x + damping * take)
    full, span = c.force_ratio * weight, (c.force_ratio - 1.0) * weight
    if x >= full:
        return x
    if x + damping * take <= weight:
        return max(0.0, x + damping * take)
    return (x + damping * take * full / span) / (1.0 + damping * take / span)


def root(gap: Callable[[float], float], low: float, high: float) -> float:
    """Where a rising function that is linear by pieces crosses zero."""
    low_gap, high_gap = gap(low), gap(high)
    for _ in range(200):
        at = low - low_gap * (high - low) / (high_gap - low_gap)
        value = gap(at)
        if value == 0.0 or at in (low, high):
            return at
        if value > 0.0:
            high, high_gap = at, value
            low_gap *= 0.5 if low_gap != gap(low) else 1.0
        else:
            low, low_gap = at, value
        middle = 0.5 * (low + high)
        value = gap(middle)
        if value > 0.0:
            high, high_gap = middle, value
        else:
            low, low_gap = middle, value
        if high - low < 1e-17:
            return middle
    return 0.5 * (low + high)


def flow(c: Climb, phase: int, y: float, v: float, spans: list[float], part: float, time: float,
         rate: float, duration: float) -> Flow:  # fmt: skip
    """Everything that changes, at one instant of a phase."""
    rising = phase == RISE
    take = rate * minimum_jerk((part if rising else time) / duration) if duration > 0.0 else 0.0
    k, k_tau = c.stiffness_n, c.stiffness_n * c.viscous_s
    body = k / c.body_stiffness_n_m
    e0 = c.after_m / spans[0] - 1.0
    e1 = (y - spans[1]) / (spans[1] + body)
    a0, b0 = k * e0, k_tau * (1.0 + e0) / spans[0]
    a1 = k * e1 + k_tau * v / (spans[1] + body)
    b1 = k_tau * (1.0 + e1) / (spans[1] + body)
    ratio = math.exp(c.friction * c.bend_rad)

    def above(q: float) -> float:
        return max(0.0, a0 + b0 * q)

    def below(q: float) -> float:
        return tension_at_person(c, a1 - b1 * q, b1, take, rising)

    q = 0.0
    if below(0.0) > ratio * above(0.0):
        q = root(lambda q: ratio * above(q) - below(q), 0.0, 100.0)
    elif above(0.0) > ratio * below(0.0):
        q = root(lambda q: above(q) - ratio * below(q), -100.0, 0.0)
    t0, t1 = above(q), below(q)
    weight = c.mass_kg * GRAVITY_M_S2
    share = min(1.0, max(0.0, (c.force_ratio * weight - t1) / ((c.force_ratio - 1.0) * weight)))
    drawn = take * (share if rising else 1.0)
    speed = (1.0 + 0.5 * (e0 + e1)) * abs(q)
    power = abs(t1 - t0) * speed
    pace = c.cold_share + speed / c.reference_speed_m_s
    return Flow(
        GRAVITY_M_S2 - t1 / c.mass_kg,
        share if rising else 0.0,
        (-q, q - drawn),
        q,
        speed,
        power,
        power * max(t0, t1) * c.gain * pace,
        (t0, t1),
    )


def spread(field: list[float], c: Climb, start: float, end: float, amount: float) -> None:
    """Second differences of the trapezoid that a moving window leaves."""
    window = max(c.radius_m * c.bend_rad, c.diameter_m) / c.cell_m
    first, last = (start - c.left_m) / c.cell_m, (end - c.left_m) / c.cell_m
    travel = max(abs(last - first), 1e-3)
    left = min(first, last) - 0.5 * window
    slope = amount / (window * travel * c.cell_m)
    corners = (left, left + min(window, travel), left + max(window, travel), left + travel + window)
    for at, sign in zip(corners, (1.0, -1.0, -1.0, 1.0), strict=True):
        cell, share = int(at), at - int(at)
        field[cell] += sign * slope * 0.5 * (1.0 - share) ** 2
        field[cell + 1] += sign * slope * (0.5 + share * (1.0 - share))
        field[cell + 2] += sign * slope * 0.5 * share**2


def halves(flows: list[Flow], slip: float, amount: float, h: float) -> tuple[float, float]:
    """Slip and exposure of a step's first half, by the parabola through start, middle and end."""
    weights = [h / 24.0 * x for x in (5.0, 4.0, 4.0, -1.0)]
    first = sum(w * f.slip for w, f in zip(weights, flows, strict=True))
    early = sum(w * f.exposure for w, f in zip(weights, flows, strict=True))
    if flows[0].slip * flows[3].slip >= 0.0:
        first = min(max(first, min(slip, 0.0)), max(slip, 0.0))
    return first, min(max(early, 0.0), amount)


def climb(c: Climb) -> dict[str, Any]:
    """Hang on slowly, climb, and report what the kernels report."""
    weight, k = c.mass_kg * GRAVITY_M_S2, c.stiffness_n
    body, ratio = k / c.body_stiffness_n_m, math.exp(c.friction * c.bend_rad)
    e0, e1 = weight / ratio / k, weight / k
    spans = [c.after_m / (1.0 + e0), (c.depth_m - body * e1) / (1.0 + e1)]
    y, v, part = c.depth_m, 0.0, 0.0
    total = {"slip_m": 0.0, "energy_j": 0.0, "exposure_j": 0.0, "peak_n": weight, "steps": 0}
    field, clock, gained = [0.0] * (c.cells + 4), 0, 0.0

    def one(phase: int, begun: float, h: float, rate: float, duration: float) -> Any:
        """Classical Runge-Kutta over h; the end and the four flows."""
        state = (y, v, *spans, part)
        flows: list[Flow] = []
        rates: list[tuple[float, ...]] = []
        for share in (0.0, 0.5, 0.5, 1.0):
            now = state
            if rates:
                now = tuple(x + share * h * r for x, r in zip(state, rates[-1], strict=True))
            f = flow(c, phase, now[0], now[1], [now[2], now[3]], now[4], begun + share * h, rate,
                     duration)  # fmt: skip
            flows.append(f)
            rates.append((now[1], f.acceleration, *f.spans, f.progress))
        weights = (h / 6.0, h / 3.0, h / 3.0, h / 6.0)
        end = [x + sum(w * r[i] for w, r in zip(weights, rates, strict=True))
               for i, x in enumerate(state)]  # fmt: skip
        return end, flows, weights

    while c.length_m - gained > 1e-9:
        net = min(c.rise_m, c.length_m - gained)
        for phase, length, seconds in (
            (RISE, net + c.sit_back_m, c.rise_s),
            (DROP, -c.sit_back_m, c.drop_s),
            (PAUSE, 0.0, c.pause_s),
        ):
            ticks = math.floor(seconds / TICK_S + 0.5)
            duration = seconds if phase == RISE else ticks * TICK_S
            rate = length / duration
            damping = k * c.viscous_s / (c.mass_kg * (spans[1] + body))
            omega = math.sqrt(k / (spans[0] + spans[1] + body) / c.mass_kg)
            quick = max(0.01, min(0.015, 0.1 / omega))  # peaks are read in the middle of a step
            longest = min(quick, c.viscous_s, 1.5 / damping)
            whole, part, begun = math.floor(longest / TICK_S + 1e-6), 0.0, 0
            while (part < c.rise_s - 1e-9) if phase == RISE else begun < ticks:
                size = whole if phase == RISE else min(whole, ticks - begun)
                end, flows, weights = one(phase, begun * TICK_S, size * TICK_S, rate, duration)
                if phase == RISE and end[4] >= c.rise_s - 1e-9:
                    while size > 1:  # the first tick at which the rise is over
                        shorter = one(phase, begun * TICK_S, (size - 1) * TICK_S, rate, duration)
                        if shorter[0][4] < c.rise_s - 1e-9:
                            break
                        size, (end, flows, weights) = size - 1, shorter
                at, slip = spans[0], sum(w * f.slip for w, f in zip(weights, flows, strict=True))
                amount = sum(w * f.exposure for w, f in zip(weights, flows, strict=True))
                total["slip_m"] += sum(w * f.path for w, f in zip(weights, flows, strict=True))
                total["energy_j"] += sum(w * f.power for w, f in zip(weights, flows, strict=True))
                total["exposure_j"] += amount
                highest = max(*flows[0].tensions, *flows[2].tensions)
                total["peak_n"] = max(total["peak_n"], highest)
                if amount > 0.0:
                    first, early = halves(flows, slip, amount, size * TICK_S)
                    for begin, stop, part_of in (
                        (0.0, first, early),
                        (first, slip, amount - early),
                    ):
                        if part_of > 0.0:
                            spread(field, c, at - begin, at - stop, part_of)
                y, v, spans, part = end[0], end[1], end[2:4], end[4]
                begun += size
                total["steps"] += 1
            clock += begun
        gained += net
    slope = value = worst = 0.0
    for difference in field:
        slope += difference
        value += slope
        worst = max(worst, value)
    return total | {"depth_m": y, "speed_m_s": v, "spans_m": spans, "ticks": clock, "worst": worst}
