"""A person caught by the safety line: the impact-force equation, and a device that slips."""

from __future__ import annotations

from math import pi, sqrt

import pytest

from edgewear.engine.bench_line import BenchLine, Bend
from edgewear.geometry.catch import catch, impact_n
from edgewear.layout import TICK_S, Kind
from edgewear.mechanics.movement.hang_load import LEAST_TAU_S
from edgewear.terms import GRAVITY_M_S2

MASS_KG, STIFFNESS_N, LENGTH_M = 100.0, 30e3, 12.0


def caught(fall_m: float, slip_n: float | None = None, tau_s: float = 0.0, bends=()) -> BenchLine:
    stand = BenchLine(STIFFNESS_N, tau_s, MASS_KG, bends, rope_m=60.0)
    if slip_n is not None:
        stand.buffers.line["device_slip_n"] = slip_n
    depth_m = LENGTH_M - sum(bend.after_m for bend in bends)
    period_s = 2.0 * pi * sqrt(MASS_KG * LENGTH_M / STIFFNESS_N)
    stand.make(
        Kind.DROP, depth_m=depth_m - fall_m, length_m=fall_m,
        duration_ticks=round((2.0 * period_s + 2.0) / TICK_S),
    )  # fmt: skip
    return stand


@pytest.mark.parametrize("fall_m", [0.1, 0.6, 2.0, 6.0])
def test_a_catch_without_friction_damping_and_slip_is_the_impact_force_equation(fall_m) -> None:
    expected = impact_n(MASS_KG, STIFFNESS_N, LENGTH_M, fall_m)
    # 0.1 %: asked of the step length; the equation itself is exact here
    assert caught(fall_m).get("peak_n") == pytest.approx(expected, rel=1e-3)


TAU_S = 0.03
"""Damping of a rope, as planned with."""
CLOSES = 3e-5
"""Asked of every run at the default step. A step that leaves more than 1e-6 m times the weight
open is halved; the drops below are a tenth of this or less of what flows."""


@pytest.mark.parametrize("tau_s", [0.0, 0.015, TAU_S, 0.06])
@pytest.mark.parametrize("slip_n", [2.5e3, 3e3])
def test_a_slipping_device_holds_the_peak_and_energy_closes(slip_n, tau_s) -> None:
    stand = caught(2.0, slip_n, tau_s)
    assert stand.get("peak_n") == slip_n  # the device lets rope through rather than bear more
    assert stand.get("drawn_m") < 0.0
    assert stand.residual() < CLOSES


@pytest.mark.parametrize("fall_m", [0.6, 2.0, 5.0])
@pytest.mark.parametrize("slip_n", [2.0e3, 2.5e3, 4e3])
def test_a_rope_without_damping_pays_out_what_the_energy_asks_for(slip_n, fall_m) -> None:
    """m*g*(h + x) = F^2*L/(2*K) + F*(x - F*L/K): stretched up to F, then x goes on at F."""
    weight_n = MASS_KG * GRAVITY_M_S2
    stored_j = slip_n**2 * LENGTH_M / (2.0 * STIFFNESS_N)
    deepest_m = (weight_n * fall_m + stored_j) / (slip_n - weight_n)
    strain = slip_n / STIFFNESS_N
    if impact_n(MASS_KG, STIFFNESS_N, LENGTH_M, fall_m) < slip_n:
        paid_m = 0.0
    else:  # at the deepest point rope of L + p hangs, stretched by F
        paid_m = (LENGTH_M + deepest_m) / (1.0 + strain) - LENGTH_M
    stand = caught(fall_m, slip_n, 0.0)
    drawn_m = -stand.get("drawn_m")
    # rates of slip exist for tau > 0 alone: the two ticks that stand for none take at most
    # tau*v*F while the rope stretches to F, and that much less rope is paid out
    speed_m_s = sqrt(2.0 * GRAVITY_M_S2 * (fall_m + slip_n * LENGTH_M / STIFFNESS_N))
    taken_m = LEAST_TAU_S * speed_m_s * slip_n / (slip_n - weight_n)
    assert paid_m - taken_m <= drawn_m <= paid_m + 1e-6
    # the device does T*(1 + e) a metre of new rope; e lags behind F/K by two ticks
    assert -stand.get("device_j") == pytest.approx(slip_n * (1.0 + strain) * drawn_m, rel=1e-3)
    assert stand.residual() < CLOSES
    closed = catch(MASS_KG, STIFFNESS_N, LENGTH_M, fall_m, slip_n)
    assert closed.slip_m == pytest.approx(paid_m * (1.0 + strain), abs=1e-6)


def test_damping_takes_what_the_device_need_not() -> None:
    paid_m = [-caught(2.0, 2.5e3, tau_s).get("drawn_m") for tau_s in (0.0, 0.015, 0.03, 0.06)]
    assert paid_m == sorted(paid_m, reverse=True)


@pytest.mark.parametrize("tau_s", [0.0, TAU_S])
def test_over_an_edge_the_safety_line_wears_and_energy_closes(tau_s) -> None:
    stand = caught(1.0, 3e3, tau_s, bends=(Bend(0.3, pi / 2, after_m=5.0),))
    assert stand.buffers.sums["slip_m"][0] > 0.0
    assert stand.worst_j_m() > 0.0
    assert stand.residual() < CLOSES
