"""The table of exact answers: enough rows, all within their tolerances, and able to fail."""

from __future__ import annotations

import math

import pytest

from edgewear.validation.exact.oscillator import TURNING_M, swing
from edgewear.validation.exact.ropes import loop_j, sawing_m, slow_cycle, worst_j_m
from edgewear.validation.exact.row import Row, off, share
from edgewear.validation.exact.verify import Verification, verify


def test_every_exact_answer_comes_out() -> None:
    found = verify()
    assert len(found.rows) >= 25
    assert len({row.name for row in found.rows}) == len(found.rows)
    assert [row.name for row in found.rows if not row.ok] == []
    document = found.as_json()
    assert document["schema"] == "edgewear.verify/1"
    assert set(document["checks"][0]) == {"name", "source", "error", "tolerance", "ok"}


@pytest.mark.long
def test_the_full_table_comes_out() -> None:
    assert [row.name for row in verify(full=True).rows if not row.ok] == []


def test_a_row_can_fail() -> None:
    assert not off("a", "b", 1.0, 1.1, 0.05).ok
    assert not share("a", "b", 1.0, 1.1, 0.05).ok
    assert not Row("a", "b", math.nan, 1.0).ok
    assert not Verification((Row("a", "b", 2.0, 1.0),)).ok
    assert "NOT OK" in "\n".join(Verification((Row("a", "b", 2.0, 1.0),)).lines())


def test_closed_forms_at_small_strain_and_short_contact() -> None:
    # small strain: (l/K)*(Tmax/R - R*Tmin); l*(R^2 - 1)*(Tmax^2 - R^4*Tmin^2)/(2*K*R^3);
    # T_max*(1 - R^-2) a metre: three forms of the same cycle, good to the strain, 4 %
    ratio, low, high, setback = 1.1, 400.0, 1600.0, 20.0
    travel = setback / 45e3 * (high / ratio - ratio * low)
    assert sawing_m(setback, ratio, low, high) == pytest.approx(travel, rel=0.08)
    loop = setback * (ratio**2 - 1) * (high**2 - ratio**4 * low**2) / (2 * 45e3 * ratio**3)
    assert loop_j(setback, ratio, low, high) == pytest.approx(loop, rel=0.08)
    assert worst_j_m(setback, ratio, high, 1e-4) == pytest.approx(high * (1 - ratio**-2), rel=0.04)


def test_a_cycle_without_a_force_does_nothing() -> None:
    from edgewear.engine.bench_line import Bend

    assert slow_cycle(Bend(0.2, 0.5, 10.0), 0.0).energy_j == 0.0


@pytest.mark.parametrize("tau_s", [4e-4, 2e-3])
def test_an_oscillator_with_dry_and_viscous_friction_turns_where_its_closed_form_does(
    tau_s: float,
) -> None:
    # each half swing is that of a damped spring about the place at which it balances the friction
    # (100 N/m, 5 N, so 0.05 m aside), with c = k*tau
    zeta = 0.5 * tau_s * math.sqrt(9.81)  # k/m = g/(1 m)
    left = math.exp(-math.pi * zeta / math.sqrt(1.0 - zeta**2))
    expected, at_m = [], 1.0
    for way in (1.0, -1.0) * 5:
        at_m = way * 0.05 - (at_m - way * 0.05) * left
        expected.append(at_m)
    found, moved_m = swing(tau_s)
    # 1e-6: rope below the bend that is not quite rigid, as much as in the row without damping
    assert list(found) == pytest.approx(expected, abs=1e-6)
    assert moved_m <= 1e-6
    assert max(abs(x - y) for x, y in zip(found, TURNING_M, strict=True)) > 1e-3  # it tells apart
