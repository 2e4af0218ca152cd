"""The equations of a line over one edge for scipy's solve_ivp, written apart from the kernels.

The slip rate comes from bisection of the edge's condition, the phases' ends from the clock and from
scipy's event location. Compiled, so that the solver is timed and not the interpreter.
"""

from __future__ import annotations

import math
from typing import Any

import numba
import numpy as np
from scipy.integrate import solve_ivp

from twins.ascent import GRAVITY_M_S2, TICK_S, Climb


@numba.njit(error_model="numpy")
def _speed(x):
    """Speed of a movement x^3*(10 - 15*x + 6*x^2)."""
    if x < 0.0 or x > 1.0:
        return 0.0
    return 30.0 * x**2 - 60.0 * x**3 + 30.0 * x**4


@numba.njit(error_model="numpy")
def _sides(q, lower, upper, take, weight, most):
    """Tensions on both sides of the edge if the rope slips at q toward the load."""
    strain0, give0 = lower
    strain1, give1, pull = upper
    above = max(0.0, strain0 + give0 * q)
    still = strain1 + pull - give1 * q
    if most <= 0.0:  # nothing limits the device
        return above, max(0.0, still + give1 * take)
    low, high = min(still, weight), still + give1 * take + 1.0
    for _ in range(200):  # the tension at which device and rope agree
        middle = 0.5 * (low + high)
        share = min(1.0, max(0.0, (most - middle) / (most - weight)))
        if still + give1 * take * share > middle:
            low = middle
        else:
            high = middle
        if high - low < 1e-12 * (1.0 + abs(high)):
            break
    return above, max(0.0, 0.5 * (low + high))


@numba.njit(error_model="numpy")
def _rates(time, z, p, phase, rate, duration):
    """Rates of (depth, speed, span above, span below, progress, sliding path)."""
    k, tau, mu_theta, setback, mass, spring, force = p
    depth, speed, above_m, below_m, progress, _ = z
    weight = mass * GRAVITY_M_S2
    take = rate * _speed((progress if phase == 0 else time) / duration)
    body = k / spring
    stretch0 = setback / above_m
    stretch1 = (depth + body) / (below_m + body)
    lower = (k * (stretch0 - 1.0), k * tau * stretch0 / above_m)
    upper = (
        k * (stretch1 - 1.0),
        k * tau * stretch1 / (below_m + body),
        k * tau * speed / (below_m + body),
    )
    most = force * weight if phase == 0 else 0.0
    ratio = math.exp(mu_theta)
    t0, t1 = _sides(0.0, lower, upper, take, weight, most)
    q = 0.0
    if t1 > ratio * t0 or t0 > ratio * t1:
        toward_load = t1 > ratio * t0
        low, high = (0.0, 64.0) if toward_load else (-64.0, 0.0)
        for _ in range(200):
            q = 0.5 * (low + high)
            t0, t1 = _sides(q, lower, upper, take, weight, most)
            beyond = t1 > ratio * t0 if toward_load else not t0 > ratio * t1
            if beyond:
                low = q
            else:
                high = q
            if high - low < 1e-15:
                break
    share = 1.0
    if phase == 0:
        share = min(1.0, max(0.0, (most - t1) / (most - weight)))
    path = abs(q) * 0.5 * (stretch0 + stretch1)
    return np.array(
        [speed, GRAVITY_M_S2 - t1 / mass, -q, q - take * share, share if phase == 0 else 0.0, path]
    )


def ascend(c: Climb, rtol: float, method: str = "LSODA") -> tuple[float, int]:
    """Sliding path [m] of a climb, and evaluations used."""
    p = (c.stiffness_n, c.viscous_s, c.friction * c.bend_rad, c.after_m, c.mass_kg,
         c.body_stiffness_n_m, c.force_ratio)  # fmt: skip
    strain = c.mass_kg * GRAVITY_M_S2 / c.stiffness_n
    body = c.stiffness_n / c.body_stiffness_n_m
    above_m = c.after_m / (1.0 + strain / math.exp(p[2]))
    z = np.array([c.depth_m, 0.0, above_m, (c.depth_m - body * strain) / (1.0 + strain), 0.0, 0.0])
    evaluations, gained = 0, 0.0

    def over(_time: float, z: Any, *_: Any) -> float:
        return float(z[4]) - c.rise_s + 1e-9

    over.terminal = True  # type: ignore[attr-defined]
    while c.length_m - gained > 1e-9:
        net = min(c.rise_m, c.length_m - gained)
        z[4] = 0.0
        lengths = (net + c.sit_back_m, -c.sit_back_m, 0.0)
        for phase, seconds in enumerate((c.rise_s, c.drop_s, c.pause_s)):
            duration = seconds if phase == 0 else round(seconds / TICK_S) * TICK_S
            args = (p, phase, lengths[phase] / duration, duration)
            ends, events = (60.0, over) if phase == 0 else (duration, None)
            for _ in range(2):
                found = solve_ivp(
                    _rates, (0.0, ends), z, method=method, args=args, rtol=rtol, atol=rtol * 1e-2,
                    events=events, max_step=0.1,
                )  # fmt: skip
                evaluations += found.nfev
                if events is None:
                    break
                ends, events = math.ceil(found.t[-1] / TICK_S - 1e-6) * TICK_S, None
            z = found.y[:, -1].copy()
        gained += net
    return float(z[5]), evaluations
