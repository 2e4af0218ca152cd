"""A rope over bends, a person and their strokes, integrated by scipy: an independent reference.

Written apart from the kernels: unstretched lengths, depth and speed are the state; the slips at
the bends are found by solving each bend in turn until nothing changes; phases of a stroke end by
scipy's own event location. Slow, and good to about 1e-8.
"""

from __future__ import annotations

from dataclasses import dataclass

import numba
import numpy as np
from scipy.integrate import solve_ivp

G = 9.81
TICK_S = 1e-4
"""A person goes on to the next phase at a whole tick of the clock."""

TO_NEXT_TICK = -1.0


@dataclass(frozen=True)
class System:
    """Everything a run depends on; lengths from the anchor, SI."""

    after_m: tuple[float, ...]
    bends_rad: tuple[float, ...]
    frictions: tuple[float, ...]
    stiffness_n: float
    tau_s: float
    mass_kg: float
    body_n_m: float
    force_ratio: float
    depth_m: float
    rise_m: float
    back_m: float
    rise_s: float
    drop_s: float
    pause_s: float
    strokes: int
    contact_m: float = 0.011


@dataclass(frozen=True)
class Answer:
    """What a run came to."""

    slip_m: np.ndarray
    energy_j: np.ndarray
    peak_n: float
    worst_j_m: float
    depth_m: float
    evaluations: int


@numba.njit
def _side(length, material, extra, rate, k, tau):
    """Strain of a span, and its tension as c0 + c1*(material that flows in a second)."""
    if length <= material:
        return 0.0, 0.0, 0.0
    strain = (length - material) / (material + extra)
    c0 = k * strain + k * tau * rate / (material + extra)
    c1 = -k * tau * (1.0 + strain) / (material + extra)
    return strain, c0, c1


@numba.njit
def _slips(n, c0, c1, ratio, take, highest, weight, limited, q):
    """Slips q[0..n+1] (0 at the anchor): every bend in turn, again until none changes."""
    q[0] = 0.0
    for _ in range(20000):
        most = 0.0
        # the device takes in q[n+1]; the legs yield towards `highest`
        flat = c0[n] + c1[n] * q[n]
        if not limited:
            drawn = take
        else:
            width = highest - weight
            drawn = take
            if flat - c1[n] * take > weight:
                pull = (flat - c1[n] * take * highest / width) / (1.0 - c1[n] * take / width)
                drawn = take * min(max((highest - pull) / width, 0.0), 1.0)
        most = max(most, abs(drawn - q[n + 1]))
        q[n + 1] = drawn
        for j in range(1, n + 1):
            a, b = c0[j - 1] + c1[j - 1] * q[j - 1], -c1[j - 1]  # before: a + b*q
            c, d = c0[j] - c1[j] * q[j + 1], -c1[j]  # after: c - d*q
            before, after = max(a, 0.0), max(c, 0.0)
            r = ratio[j - 1]
            found = 0.0
            if after > r * before:
                found = (c - r * a) / (d + r * b)
                if a + b * found < 0.0:
                    found = c / d
            elif before > r * after:
                found = (r * c - a) / (b + r * d)
                if c - d * found < 0.0:
                    found = -a / b
            most = max(most, abs(found - q[j]))
            q[j] = found
        if most < 1e-15:
            break


@numba.njit
def _rates(state, n, free, ratio, p, phase, out):
    """Time derivative of (y, v, part, s_0..s_n, slip_1.., energy_1..); also the largest tension.

    p: k, tau, mass, body length, highest force, rate of the phase, its duration, time in it.
    """
    k, tau, mass, extra, highest, amount, duration, time = p
    y, v, part = state[0], state[1], state[2]
    weight = mass * G
    strain = np.zeros(n + 1)
    c0 = np.zeros(n + 1)
    c1 = np.zeros(n + 1)
    for i in range(n):
        strain[i], c0[i], c1[i] = _side(free[i], state[3 + i], 0.0, 0.0, k, tau)
    strain[n], c0[n], c1[n] = _side(y, state[3 + n], extra, v, k, tau)
    x = part / duration if phase == 0 else time / duration
    shape = 0.0
    if 0.0 < x < 1.0:
        shape = 30.0 * x**2 - 60.0 * x**3 + 30.0 * x**4
    take = amount / duration * shape
    q = np.zeros(n + 2)
    _slips(n, c0, c1, ratio, take, highest, weight, phase == 0, q)
    tension = np.zeros(n + 1)
    largest = 0.0
    for i in range(n + 1):
        tension[i] = max(c0[i] + c1[i] * (q[i] - q[i + 1]), 0.0)
        largest = max(largest, tension[i])
        out[3 + i] = q[i] - q[i + 1]
    out[0], out[1] = v, G - tension[n] / mass
    out[2] = 0.0
    if phase == 0:
        out[2] = min(max((highest - tension[n]) / (highest - weight), 0.0), 1.0)
    for j in range(1, n + 1):
        stretched = 1.0 + 0.5 * (strain[j - 1] + strain[j])
        out[3 + n + j] = stretched * abs(q[j])
        out[3 + 2 * n + j] = abs(tension[j] - tension[j - 1]) * stretched * abs(q[j])
    return largest


def run(system: System) -> Answer:
    """Hang the person on slowly and let them climb."""
    n = len(system.after_m)
    free = np.array(system.after_m)
    ratio = np.exp(np.multiply(system.frictions, system.bends_rad))
    state = _hung(system, n, free, ratio)
    states, evaluations, peak, rose_s = [state[:, None]], 0, 0.0, 0.0
    for _ in range(system.strokes):
        for move in (
            (0, system.rise_m + system.back_m, system.rise_s),
            (2, 0.0, TO_NEXT_TICK),
            (1, -system.back_m, system.drop_s),
            (2, 0.0, system.pause_s),
        ):
            if move[2] == TO_NEXT_TICK:
                move = (2, 0.0, max(-rose_s % TICK_S, 1e-12))
            found = _phase(system, n, free, ratio, state, move)
            rose_s = found.t[-1]
            evaluations += found.nfev
            peak = max(peak, _peak(system, n, free, ratio, found, move))
            state = found.y[:, -1].copy()
            state[2] = 0.0
            states.append(found.y[:, 1:])
    table = np.concatenate(states, axis=1).T
    return Answer(
        slip_m=state[4 + n : 4 + 2 * n],
        energy_j=state[4 + 2 * n :],
        peak_n=peak,
        worst_j_m=_worst(system, n, table),
        depth_m=float(state[0]),
        evaluations=evaluations,
    )


def _hung(system, n, free, ratio):
    """State of a rope that the weight was put on slowly."""
    state = np.zeros(4 + 3 * n)
    tension = system.mass_kg * G
    extra = system.stiffness_n / system.body_n_m
    strain = tension / system.stiffness_n
    state[0] = system.depth_m
    state[3 + n] = (system.depth_m - extra * strain) / (1.0 + strain)
    for j in range(n - 1, -1, -1):
        tension /= ratio[j]
        state[3 + j] = free[j] / (1.0 + tension / system.stiffness_n)
    return state


def _numbers(system, amount, duration, time):
    weight = system.mass_kg * G
    return (
        system.stiffness_n,
        system.tau_s,
        system.mass_kg,
        system.stiffness_n / system.body_n_m,
        system.force_ratio * weight,
        amount,
        duration,
        time,
    )


def _phase(system, n, free, ratio, state, move):
    """Integrate one phase; a rise ends when all of it is taken in."""
    phase, amount, duration = move
    out = np.zeros_like(state)

    def rates(time, now):
        _rates(now, n, free, ratio, _numbers(system, amount, duration, time), phase, out)
        return out.copy()

    def done(_, now):
        return now[2] - duration

    done.terminal = True
    return solve_ivp(
        rates,
        (0.0, 30.0 if phase == 0 else duration),
        state,
        method="LSODA",
        rtol=1e-10,
        atol=1e-12,
        max_step=2e-3,
        events=done if phase == 0 else None,
    )


def _peak(system, n, free, ratio, found, move):
    """Largest tension at the ends of all steps of a phase."""
    phase, amount, duration = move
    out = np.zeros(4 + 3 * n)
    largest = 0.0
    for time, state in zip(found.t, found.y.T, strict=True):
        numbers = _numbers(system, amount, duration, time)
        here = np.ascontiguousarray(state)
        largest = max(largest, _rates(here, n, free, ratio, numbers, phase, out))
    return largest


def _worst(system, n, table, parts=24):
    """Largest friction energy per metre of rope, each bend's contact a window on the material.

    Between two steps material and energy are taken to grow evenly, in `parts` deposits.
    """
    cell = 2e-5
    half = system.contact_m / 2.0
    material = table[:, 3 : 3 + n].cumsum(axis=1)
    energy = table[:, 4 + 2 * n :]
    low = material.min() - half - cell
    cells = int((material.max() + half - low) / cell) + 3
    field = np.zeros(cells)
    for j in range(n):
        amount = np.diff(energy[:, j]) / system.contact_m / parts
        for part in range(parts):
            share = (part + 0.5) / parts
            middle = material[:-1, j] + share * np.diff(material[:, j]) - low
            field += np.bincount(np.rint((middle - half) / cell).astype(int), amount, cells)
            field -= np.bincount(np.rint((middle + half) / cell).astype(int), amount, cells)
    return float(field.cumsum().max())
