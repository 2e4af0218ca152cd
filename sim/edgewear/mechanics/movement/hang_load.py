"""The load applied slowly to a slack rope, and its removal."""

from __future__ import annotations

import math
from typing import Any

from edgewear.mechanics import scratch as r
from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.jit import njit
from edgewear.mechanics.step.last_span import last_length
from edgewear.mechanics.step.regime import bend_at, elastic, enter_regime, find_regime, lengths

LEAST_TAU_S = 2e-4
"""A rope that may slip, over an edge or through a device, is never stiffer in time than this [s].

Slip rates exist for tau > 0 alone. A rope without damping slips at once by what restores the
limit; the rates that do so within two ticks come to the same (sliding path of a jerky climb
within 0.3 %, way of a catch by a slipping device within 0.1 %)."""


@njit
def fill_line(w: Floats, line: Any, person: Any, wear: Any, mass_kg: float, gravity: float) -> Any:
    """Constants of a line and of what hangs on it."""
    w[r.LINE_P + r.K] = line.stiffness_n
    tau = line.viscous_s
    if line.edge_count > 0 or line.device_slip_n < math.inf:
        tau = max(tau, LEAST_TAU_S)
    w[r.LINE_P + r.TAU] = tau
    w[r.LINE_P + r.K_TAU] = line.stiffness_n * tau
    w[r.LINE_P + r.PER_K_TAU] = 1.0 / (line.stiffness_n * tau) if tau > 0.0 else math.inf
    w[r.LINE_P + r.MASS] = mass_kg
    w[r.LINE_P + r.GRAVITY] = gravity
    w[r.LINE_P + r.BODY_M] = line.stiffness_n / person.body_stiffness_n_m
    weight_n = mass_kg * gravity
    w[r.LINE_P + r.WEIGHT_N] = weight_n
    w[r.LINE_P + r.FULL_N] = person.force_ratio * weight_n
    w[r.REGIME_P + r.PER_RANGE] = 1.0 / ((person.force_ratio - 1.0) * weight_n)
    w[r.REGIME_P + r.PER_MASS] = 1.0 / mass_kg
    w[r.REGIME_P + r.DIAMETER] = line.diameter_m
    w[r.LINE_P + r.CAP_N] = line.device_slip_n
    w[r.LINE_P + r.COLD] = wear.cold_share
    w[r.LINE_P + r.PER_SPEED] = 1.0 / wear.reference_speed_m_s
    w[r.LINE_P + r.LAW] = wear.law
    w[r.LINE_P + r.THRESHOLD] = wear.power_threshold_w_m2


@njit
def lower_tension(j: int, high: float, w: Floats) -> Any:
    """Tension on the anchor side of edge j that slips toward the load, `high` on the other.

    T_(j-1) = T_j/exp(mu*theta) (Euler-Eytelwein; model page 3.1). With friction of power n < 1,
    f = mu*N^n a unit of length: T_(j-1)^(1-n) = T_j^(1-n) - (1-n)*mu*R^(1-n)*theta, derived from
    dT/dtheta = mu*R^(1-n)*T^n.
    """
    if w[r.POWER + j] == 1.0:
        return high / w[r.RATIO + j]
    less = 1.0 - w[r.POWER + j]
    held = less * w[r.MU + j] * w[r.RADIUS + j] ** less * w[r.TURNED + j]
    base = high**less - held
    return base ** (1.0 / less) if base > 0.0 else 0.0


@njit
def account(state: Any, w: Floats, sign: float) -> Any:
    """Move what is stored now into (+1) or out of (-1) the bases of the energy totals.

    Rope K*sum(e_i^2*s_i)/2, body spring, motion m*v^2/2, height m*g*y (model page 8.2).
    """
    n = state.count
    lengths(n, w, 0, state.depth_m, 0.0, 0.0)
    rope_j, body_j = elastic(n, w)
    v = state.speed_m_s
    state.base_elastic_j += sign * rope_j
    state.base_body_j += sign * body_j
    state.base_kinetic_j += sign * 0.5 * state.mass_kg * v * v
    state.base_gravity_j += sign * state.mass_kg * w[r.LINE_P + r.GRAVITY] * state.depth_m


@njit
def totals(state: Any, w: Floats, phase: int, time_s: float) -> Any:
    """Energies that are functions of the state, as gained since the buffers were cleared."""
    rope_j = 0.0
    body_j = 0.0
    kinetic_j = 0.0
    gravity_j = 0.0
    if state.loaded != 0:
        n = state.count
        lengths(n, w, phase, state.depth_m, state.part_s, time_s)
        rope_j, body_j = elastic(n, w)
        kinetic_j = 0.5 * state.mass_kg * state.speed_m_s * state.speed_m_s
        gravity_j = state.mass_kg * w[r.LINE_P + r.GRAVITY] * state.depth_m
    state.elastic_j = state.base_elastic_j + rope_j
    state.body_j = state.base_body_j + body_j
    state.kinetic_j = state.base_kinetic_j + kinetic_j
    state.gravity_j = state.base_gravity_j + gravity_j


@njit
def _empty(n: int, w: Floats) -> None:
    """Nothing of a line that was here before stays, not even where no load can hang."""
    for i in range(n + 1):
        w[r.SPAN + i] = 0.0
        w[r.TAUT + i] = 1.0


@njit
def put_load(
    movement: Any,
    w: Floats,
    state: Any,
    sums: Any,
    line: Any,
    edges: Any,
    person: Any,
    wear: Any,
    regimes: Any,
    gravity: float,
) -> Any:
    """Hang the load on slowly at a depth: T_(j-1) = T_j/R_j at every edge. False: cannot hang.

    The slipping this takes is booked apart from that of the movements: from a slack rope, with
    the tension growing in proportion, edge j passes sum_(i<j) of l_i*e_i/(1 + e_i).
    """
    if state.loaded != 0:
        account(state, w, 1.0)
    state.mass_kg = movement.mass_kg if movement.mass_kg > 0.0 else person.mass_kg
    state.depth_m = movement.depth_m
    state.offset_m = 0.0
    w[r.REGIME_P + r.OFFSET_M] = 0.0
    state.speed_m_s = 0.0
    fill_line(w, line, person, wear, state.mass_kg, gravity)
    enter_regime(find_regime(regimes, state.depth_m), w, state, line, edges, wear, regimes)
    _empty(state.count, w)
    n = state.count
    y = state.depth_m
    if w[r.REGIME_P + r.CLOSED] != 0.0:
        _, w[r.SLOPE + n], _ = last_length(y, 0.0, w)
    for j in range(1, n + 1):
        w[r.TURNED + j] = bend_at(j, n, w, y)
        w[r.RATIO + j] = math.exp(w[r.MU + j] * w[r.TURNED + j])  # of plain friction
    # the last tension from the vertical balance; a few rounds where friction is not linear
    tension = state.mass_kg * gravity
    for _ in range(60):
        w[r.T + n] = tension
        pull = tension * w[r.SLOPE + n]
        for back in range(n):
            j = n - back
            w[r.T + j - 1] = lower_tension(j, w[r.T + j], w)
            pull += w[r.T + j - 1] * w[r.SLOPE + j - 1]
        if pull <= 0.0:
            return False
        tension *= state.mass_kg * gravity / pull
    lengths(n, w, 0, y, 0.0, 0.0)
    passed = 0.0
    k = w[r.LINE_P + r.K]
    for i in range(n + 1):
        strain = w[r.T + i] / k
        extra = w[r.LINE_P + r.BODY_M] if i == n else 0.0
        w[r.SPAN + i] = (w[r.KINK + i] - extra * strain) / (1.0 + strain)
        if w[r.SPAN + i] <= 0.0:
            return False
        w[r.STRAIN + i] = strain
        state.tension_n[i] = w[r.T + i]
        if i < n:
            passed += w[r.KINK + i] - w[r.SPAN + i]
            edge = sums[int(w[r.ROW + i + 1])]
            edge.load_slip_m += passed
            edge.load_energy_j += 0.5 * passed * (w[r.T + i + 1] - w[r.T + i])
            edge.wrap_rad = max(edge.wrap_rad, w[r.TURNED + i + 1])
            edge.peak_n = max(edge.peak_n, w[r.T + i + 1])
            state.mode[i] = 0
            state.allowed[i] = int(w[r.ALLOWED + i + 1])
    state.loaded = 1
    state.peak_n = max(state.peak_n, tension)
    state.anchor_peak_n = max(state.anchor_peak_n, w[r.T + 0])
    account(state, w, -1.0)
    return True


@njit
def fall_in(
    movement: Any,
    w: Floats,
    state: Any,
    line: Any,
    edges: Any,
    person: Any,
    wear: Any,
    regimes: Any,
    gravity: float,
) -> Any:
    """The person arrives at a straight, tension-free rope after `length_m` of free fall.

    The rope is straight at depth_m + length_m; speed sqrt(2*g*length_m). False: no rope there.
    """
    if state.loaded != 0:
        account(state, w, 1.0)
    state.mass_kg = movement.mass_kg if movement.mass_kg > 0.0 else person.mass_kg
    state.depth_m = movement.depth_m + movement.length_m
    state.offset_m = 0.0
    w[r.REGIME_P + r.OFFSET_M] = 0.0
    state.speed_m_s = math.sqrt(2.0 * gravity * max(movement.length_m, 0.0))
    fill_line(w, line, person, wear, state.mass_kg, gravity)
    enter_regime(find_regime(regimes, state.depth_m), w, state, line, edges, wear, regimes)
    _empty(state.count, w)
    lengths(state.count, w, 0, state.depth_m, 0.0, 0.0)
    for i in range(state.count + 1):
        w[r.SPAN + i] = w[r.KINK + i]
        if w[r.SPAN + i] <= 0.0:
            return False
        w[r.STRAIN + i] = 0.0
        w[r.T + i] = 0.0
        state.tension_n[i] = 0.0
    for j in range(state.count):
        state.mode[j] = 0
        state.allowed[j] = int(w[r.ALLOWED + j + 1])
    state.loaded = 1
    account(state, w, -1.0)
    return True


@njit
def take_load_off(state: Any, w: Floats) -> Any:
    """The line is free of load; what was stored in it leaves the account."""
    if state.loaded != 0:
        account(state, w, 1.0)
    state.loaded = 0
    state.speed_m_s = 0.0
    for i in range(state.tension_n.shape[0]):
        state.tension_n[i] = 0.0
