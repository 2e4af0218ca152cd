"""What scored forecasts say of the discrepancy, held against truths that are known."""

from __future__ import annotations

from math import exp, inf, log

import numpy as np
import pytest

from edgewear.forecasts.earned import FEWEST, Verdict, crossings, earned
from edgewear.forecasts.quantities import Seen

FACTORS = np.array([1 / 9, 1 / 3, 1.0, 3.0, 9.0])
SHIPPED = (1.0, 1 / 3, 3.0)
UNTIL = 20.0


def programme(rng: np.random.Generator, bias: float, spread: float, tests: int) -> list[np.ndarray]:
    """Tests whose sheath breaks at 4 m times the inverse of their own factor, looked at each metre.

    From rope to rope it differs by a tenth; the forecast knows that.
    """
    found = []
    for _ in range(tests):
        ropes = 4.0 * np.exp(0.1 * rng.standard_normal(4))
        values = ropes[:, None] / FACTORS
        own = log(bias) + spread * rng.standard_normal()
        truth = 4.0 * exp(0.1 * rng.standard_normal()) / exp(own)
        low = float(np.floor(truth))
        seen = Seen(low, low + 1.0) if truth < UNTIL else Seen(UNTIL, inf)
        found.append(crossings(FACTORS, np.where(values < UNTIL, values, inf), seen, UNTIL))
    return found


@pytest.mark.parametrize("grows", [True, False])
def test_a_factor_is_found_where_the_value_is_in_proportion(grows: bool) -> None:
    row = 2.0 * FACTORS if grows else 2.0 / FACTORS
    ends = crossings(FACTORS, row[None, :], Seen(1.0, 8.0), inf)[0]
    expected = sorted(log(one / 2.0) * (1 if grows else -1) for one in (1.0, 8.0))
    assert ends == pytest.approx(expected, abs=1e-12)


def test_what_never_came_goes_on_in_proportion() -> None:
    row = np.array([inf, inf, 12.0, 4.0, 4 / 3])
    stopped = crossings(FACTORS, row[None, :], Seen(15.0, inf), 15.0)[0]
    assert stopped[0] == -inf
    assert stopped[1] == pytest.approx(log(12.0 / 15.0), abs=1e-12)


@pytest.mark.parametrize(
    ("count", "fewest"), [(12, 8), pytest.param(200, 167, marks=pytest.mark.long)]
)
def test_intervals_cover_the_truth(count: int, fewest: int) -> None:
    """Of a true 90 %, fewer than so many of as many programmes come once in 200 (binomial)."""
    rng = np.random.default_rng(1)
    inside = {"bias": 0, "spread": 0}
    for _ in range(count):
        bias, spread = exp(0.4 * rng.standard_normal()), float(rng.uniform(0.15, 0.9))
        found = earned(programme(rng, bias, spread, 10), SHIPPED)
        inside["bias"] += found.bias.low <= bias <= found.bias.high
        inside["spread"] += found.spread.low <= spread <= found.spread.high
    assert min(inside.values()) >= fewest, inside


def test_few_tests_narrow_nothing_however_well_they_agree() -> None:
    rng = np.random.default_rng(2)
    for count in range(1, FEWEST):
        found = earned(programme(rng, 1.0, 0.05, count), SHIPPED)
        assert found.verdict is Verdict.NOT_EARNED
        assert "not earned" in found.entry()
        assert "low: 0.333, high: 3" in found.entry()


def test_many_good_forecasts_earn_a_narrower_one_and_bad_ones_a_wider() -> None:
    rng = np.random.default_rng(3)
    good = earned(programme(rng, 1.0, 0.1, 20), SHIPPED)
    assert good.verdict is Verdict.NARROWER
    assert SHIPPED[1] < good.factor.low < 1.0 < good.factor.high < SHIPPED[2]
    bad = earned(programme(rng, 1.0, 1.3, 20), SHIPPED)
    assert bad.verdict is Verdict.WIDER
    off = earned(programme(rng, 6.0, 0.1, 4), SHIPPED)
    assert off.verdict is Verdict.WIDER  # what goes against us needs no fewest number
    assert off.bias.low < 6.0 < off.bias.high
