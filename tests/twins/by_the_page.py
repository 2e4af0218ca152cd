"""A climb by the paragraphs of docs/reference/model.md; paragraph numbers stand beside the lines.

Another method than the kernels': steps of one tick by Heun's rule, and slip rates by solving each
edge and the device in turn until nothing changes. Slow, and plain.
"""

from __future__ import annotations

from dataclasses import dataclass

import numba
import numpy as np

G = 9.81
TICK_S = 1e-4
CELL_M = 1e-3


@dataclass(frozen=True)
class Climb:
    """What paragraph 1 lists, for bends that are given; SI."""

    elongation: float
    stiffness_factor: float
    dynamic_ratio: float
    tau_s: float
    diameter_m: float
    rope_kg_m: float
    sheath_share: float
    toughness: float
    frictions: tuple[float, ...]
    radii_m: tuple[float, ...]
    bends_rad: tuple[float, ...]
    free_m: tuple[float, ...]
    roughness: tuple[float, ...]
    wet_factor: float
    mass_kg: float
    body_n_m: float
    force_ratio: float
    start_m: float
    height_m: float
    rise_m: float
    back_m: float
    rise_s: float
    drop_s: float
    pause_s: float
    radius_exponent: float
    fibre_kg_m3: float
    contact_share: float
    rotation: float
    sheath_j_m3: float
    pressure_pa: float
    speed_m_s: float
    cold_share: float
    width_share: float
    arc_share: float
    presliding_m: float


@dataclass(frozen=True)
class Result:
    """What paragraphs 6 and 7 ask for."""

    slip_m: np.ndarray
    energy_j: np.ndarray
    peak_n: float
    demand: float
    duration_s: float
    strokes: int


@numba.njit
def _span(length, material, body, rate, k, tau):
    """2.4: strain, tension at rest of the material, and what material a second takes off."""
    if length <= material:
        return 0.0, 0.0, 0.0
    strain = (length - material) / (material + body)
    return (
        strain,
        k * strain + k * tau * rate / (material + body),
        k * tau * (1.0 + strain) / (material + body),
    )


@numba.njit
def _edge_rate(at0, per0, at1, per1, ratio):
    """3.1 for one edge: tension at0 + per0*q before it, at1 - per1*q behind it, none below 0."""
    if max(at1, 0.0) > ratio * max(at0, 0.0):
        q = (at1 - ratio * at0) / (per1 + ratio * per0)
        if at0 + per0 * q < 0.0:
            q = at1 / per1
        return q
    if max(at0, 0.0) > ratio * max(at1, 0.0):
        q = (at0 - ratio * at1) / (per0 + ratio * per1)
        if at1 + per1 * q < 0.0:
            q = at0 / per0
        return -q
    return 0.0


@numba.njit
def _device(at, per, wanted, weight, most):
    """4.3: what the legs take in, where the tension is at + per*(what is taken in)."""
    if at + per * wanted <= weight:
        return wanted, 1.0
    if at >= most:
        return 0.0, 0.0
    share = (most - at) / (most - weight + per * wanted)
    return wanted * share, share


@numba.njit
def _rates(y, v, s, free, ratios, k, tau, body, weight, most, wanted, rising, q, strain, tension):
    """2.4, 3.1 and 4.3 at an instant; q (0 .. n + 1) holds the last rates, and is renewed.

    Returns the clock's rate u of 4.3.
    """
    n = len(ratios)
    at, per = np.empty(n + 1), np.empty(n + 1)
    for i in range(n):
        strain[i], at[i], per[i] = _span(free[i], s[i], 0.0, 0.0, k, tau)
    strain[n], at[n], per[n] = _span(y, s[n], body, v, k, tau)  # 2.2
    clock, q[0] = 1.0, 0.0
    for _ in range(100000):
        change, last = 0.0, q[n + 1]
        q[n + 1], clock = wanted, 1.0
        if rising:
            q[n + 1], clock = _device(at[n] - per[n] * q[n], per[n], wanted, weight, most)
        change = abs(q[n + 1] - last)
        for j in range(n, 0, -1):
            found = _edge_rate(
                at[j - 1] - per[j - 1] * q[j - 1], per[j - 1],
                at[j] + per[j] * q[j + 1], per[j], ratios[j - 1],
            )  # fmt: skip
            change = max(change, abs(found - q[j]))
            q[j] = found
        if change < 1e-14:
            break
    for i in range(n + 1):
        tension[i] = max(at[i] - per[i] * (q[i] - q[i + 1]), 0.0)
    return clock


@numba.njit
def _spread(field, middle, window, amount):
    """6.3: `amount` [J] evenly over the material `window` [m] long about `middle`."""
    low, high = middle - 0.5 * window, middle + 0.5 * window
    for cell in range(int(np.floor(low / CELL_M)), int(np.floor(high / CELL_M)) + 1):
        covers = min(high, (cell + 1) * CELL_M) - max(low, cell * CELL_M)
        if covers > 0.0:
            field[cell + OFFSET] += amount / window * covers / CELL_M


OFFSET = 1000
"""Cells before the fixed point, for material that slides back over it."""


@numba.njit
def _shape(x):
    """4.2."""
    return 30.0 * x**2 * (1.0 - x) ** 2 if 0.0 < x < 1.0 else 0.0


@numba.njit
def _weighted(friction, tension, speed, severity, area_m2, law):
    """6.2: exposure of friction * 1 m; law: p_0, v_0, c."""
    return friction * severity * (tension / area_m2 / law[0]) * (law[2] + speed / law[1])


@numba.njit
def _climb(free, ratios, windows, severity, areas, rope, person, stroke, law, height, y, s, field):
    """4 and 6: strokes to the end; returns slip, energy, the largest tension, ticks and strokes."""
    k, tau, body = rope
    mass, most = person
    n, weight = len(ratios), mass * G
    q, strain, tension = np.zeros(n + 2), np.zeros(n + 1), np.zeros(n + 1)
    slip, energy = np.zeros(n), np.zeros(n)
    v, peak, ticks, strokes, gained = 0.0, 0.0, 0, 0, 0.0
    presliding = law[3]
    while height - gained > 1e-9:  # 4.6
        rise_m = min(stroke[0], height - gained)
        back_m, rise_s, drop_s, pause_s = stroke[1], stroke[2], stroke[3], stroke[4]
        slid, held = np.zeros(n), np.zeros(n)
        rub, pull = np.zeros(n), np.zeros(n)
        for phase in range(3):
            amount = (rise_m + back_m, -back_m, 0.0)[phase]
            length = (rise_s, drop_s, pause_s)[phase]
            last = int(np.round(length / TICK_S))  # 4.4, 4.5
            if (phase == 1 and back_m == 0.0) or (phase > 0 and last == 0):
                continue
            p, tick = 0.0, 0
            ds1, ds = np.zeros(n + 1), np.zeros(n + 1)
            while True:
                if phase == 0:
                    if p >= rise_s - 1e-9 or tick > 200000:  # 4.3
                        break
                elif tick >= last:
                    break
                v0, y0, p0, u1, a1 = v, y, p, 0.0, 0.0
                s0 = s.copy()
                for stage in range(2):  # Heun
                    if stage == 1:
                        y, v, p = y0 + TICK_S * v0, v0 + TICK_S * a1, p0 + TICK_S * u1
                        s[:] = s0 + TICK_S * ds1
                    x = p / rise_s if phase == 0 else (tick + stage) / last
                    wanted = amount / (rise_s if phase == 0 else last * TICK_S) * _shape(x)
                    u = _rates(
                        y, v, s, free, ratios, k, tau, body, weight, most, wanted, phase == 0,
                        q, strain, tension,
                    )  # fmt: skip
                    at = 0.0
                    for j in range(n):
                        at += s[j]
                        speed = (1.0 + 0.5 * (strain[j] + strain[j + 1])) * abs(q[j + 1])  # 6.1
                        friction = abs(tension[j + 1] - tension[j])
                        high = max(tension[j], tension[j + 1])
                        slip[j] += 0.5 * TICK_S * speed
                        slid[j] += 0.5 * TICK_S * speed
                        energy[j] += 0.5 * TICK_S * speed * friction
                        rub[j], pull[j] = max(rub[j], friction), max(pull[j], high)
                        held[j] += 0.5 * TICK_S if high > 1.0 else 0.0
                        worn = _weighted(friction, high, speed, severity[j], areas[j], law) * speed
                        if worn > 0.0:
                            _spread(field, at, windows[j], 0.5 * TICK_S * worn)
                    peak = max(peak, tension.max())
                    acceleration = G - tension[n] / mass  # 2.6
                    for i in range(n + 1):
                        ds[i] = q[i] - q[i + 1]  # 2.5
                    if stage == 0:
                        a1, u1 = acceleration, u
                        ds1[:] = ds
                    else:
                        y = y0 + 0.5 * TICK_S * (v0 + v)
                        v = v0 + 0.5 * TICK_S * (a1 + acceleration)
                        p = p0 + 0.5 * TICK_S * (u1 + u)
                        s[:] = s0 + 0.5 * TICK_S * (ds1 + ds)
                tick += 1
            ticks += tick
        at = 0.0
        for j in range(n):  # 6.4
            at += s[j]
            creep = presliding - slid[j]
            if creep > 0.0 and held[j] > 0.0:
                speed = creep / held[j]
                worn = _weighted(rub[j], pull[j], speed, severity[j], areas[j], law) * creep
                for part in range(200):
                    middle = at + creep * ((part + 0.5) / 200 - 0.5)
                    _spread(field, middle, windows[j], worn / 200)
        gained += rise_m
        strokes += 1
    return slip, energy, peak, ticks, strokes


def climb(c: Climb) -> Result:
    """Make the climb that a case describes."""
    k = 100.0 * G / c.elongation * c.stiffness_factor * c.dynamic_ratio  # 1.1
    tau = max(c.tau_s, 2e-4)
    free, radii = np.array(c.free_m), np.array(c.radii_m)
    bends = np.array(c.bends_rad)
    severity = np.array(c.roughness) * (radii / 1e-3) ** -c.radius_exponent * c.wet_factor  # 1.2
    body = k / c.body_n_m  # 1.4
    ratios = np.exp(np.array(c.frictions) * bends)  # 3.1
    n, tension = len(free), c.mass_kg * G
    s = np.zeros(n + 1)  # 3.3
    s[n] = (c.start_m - body * tension / k) / (1.0 + tension / k)
    for i in range(n - 1, -1, -1):
        tension /= ratios[i]
        s[i] = free[i] / (1.0 + tension / k)
    areas = c.width_share * c.diameter_m * np.maximum(radii, c.arc_share * c.diameter_m)  # 6.2
    windows = np.maximum(radii * bends, c.diameter_m)  # 6.3
    field = np.zeros(OFFSET + int(1000 * (free.sum() + c.start_m)) + 2000)
    slip, energy, peak, ticks, strokes = _climb(
        free, ratios, windows, severity, areas, (k, tau, body),
        (c.mass_kg, c.force_ratio * c.mass_kg * G),
        (c.rise_m, c.back_m, c.rise_s, c.drop_s, c.pause_s),
        (c.pressure_pa, c.speed_m_s, c.cold_share, c.presliding_m),
        c.height_m, c.start_m, s, field,
    )  # fmt: skip
    sheath_m2 = c.sheath_share * c.rope_kg_m / c.fibre_kg_m3  # 7.1
    contact_m2 = min(c.contact_share * c.rotation, 1.0) * sheath_m2
    through_j_m = c.sheath_j_m3 * c.toughness * contact_m2
    return Result(slip, energy, peak, field.max() / through_j_m, ticks * TICK_S, strokes)
