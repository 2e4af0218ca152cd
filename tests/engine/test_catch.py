"""A person caught by the safety line: the impact-force equation, and a device that slips."""

from __future__ import annotations

from math import pi, sqrt

import pytest

from edgewear.engine.stand import Bend, Stand
from edgewear.layout import TICK_S, Kind
from edgewear.rigging.catch import catch, impact_n

MASS_KG, STIFFNESS_N, LENGTH_M = 100.0, 30e3, 12.0


def caught(fall_m: float, slip_n: float | None = None, tau_s: float = 0.0, bends=()) -> Stand:
    stand = Stand(STIFFNESS_N, tau_s, MASS_KG, bends, rope_m=60.0)
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


SHORT_S = 1e-3
"""Damping that is next to none; a device that slips needs some, for its rate to be determined."""


@pytest.mark.parametrize("slip_n", [2.5e3, 4e3])
def test_a_slipping_device_holds_the_peak_and_energy_closes(slip_n) -> None:
    stand = caught(2.0, slip_n, SHORT_S)
    assert stand.get("peak_n") == pytest.approx(slip_n, rel=1e-3)  # the device's own bound
    assert stand.residual() < 1e-4  # every term is integrated on its own


@pytest.mark.parametrize("slip_n", [2.5e3, 4e3])
def test_the_rope_that_slips_is_what_the_energy_asks_for(slip_n) -> None:
    closed = catch(MASS_KG, STIFFNESS_N, LENGTH_M, 2.0, slip_n)
    stand = caught(2.0, slip_n, SHORT_S)
    spans = stand.buffers.state["span_m"][0, : int(stand.get("count")) + 1]
    stretched_m = (float(spans.sum()) - LENGTH_M) * (1.0 + slip_n / STIFFNESS_N)
    # 2 cm: what the remaining damping takes out of a drop of 4 m
    assert stretched_m == pytest.approx(closed.slip_m, abs=0.02)


def test_over_an_edge_the_safety_line_wears_and_energy_closes() -> None:
    stand = caught(1.0, 3e3, tau_s=SHORT_S, bends=(Bend(0.3, pi / 2, after_m=5.0),))
    assert stand.buffers.sums["slip_m"][0] > 0.0
    assert stand.worst_j_m() > 0.0
    assert stand.residual() < 1e-4  # as above
