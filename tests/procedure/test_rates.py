"""Intervals of what rated faults come to hold the truth as often as they say."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from math import exp, inf
from types import SimpleNamespace

import numpy as np
import pytest

from edgewear.layout import TICK_S
from edgewear.procedure.fault_rates import Stratum, combined, rates
from edgewear.procedure.fault_runs import Trial
from edgewear.scenario.text.quantities import Measured

SEEDS = pytest.mark.parametrize("seeds", [200, pytest.param(5000, marks=pytest.mark.long)])

DESIGNS = {
    "one in two": [(0.5, 0.5, 64)],
    "one in a hundred thousand": [(3e-3, 0.0, 5000), (3e-3, 0.0, 5000), (1e-5, 1.0, 5000)],
    "rare in a rare stratum": [(1e-3, 0.01, 64), (1e-6, 0.9, 64)],
    "many strata": [(0.02 * k, 0.1 * k % 1.0, 32) for k in range(1, 8)],
}
"""Strata: weight, true share of them in which it happens, trials."""


@SEEDS
@pytest.mark.parametrize("design", DESIGNS)
def test_the_truth_lies_inside_at_least_as_often_as_said(design: str, seeds: int) -> None:
    strata = DESIGNS[design]
    truth = sum(weight * share for weight, share, _ in strata)
    rng, inside = np.random.default_rng(20), 0
    for _ in range(seeds):
        drawn = [Stratum(w, int(rng.binomial(n, p)), n) for w, p, n in strata]
        found = combined(drawn)
        assert found.low <= found.estimate <= found.high
        inside += found.low <= truth <= found.high
    assert inside >= 0.95 * seeds


def test_the_interval_is_no_wider_than_it_must_be() -> None:
    """One stratum of everything: exactly the Clopper-Pearson interval, known for 5 of 10."""
    found = combined([Stratum(1.0, 5, 10)])
    # 0.187 and 0.813, from memory, as in every table of exact binomial limits
    assert (found.low, found.high) == (
        pytest.approx(0.187, abs=5e-4),
        pytest.approx(0.813, abs=5e-4),
    )


@dataclass(frozen=True)
class DrawnRuns:
    """Faults whose outcome is known by chance: what a set of them does, it does independently."""

    seed: int
    chance: float
    combinations: tuple = ()
    replicates: tuple = ()

    def trials(self, faults, replicates: int):
        rng = np.random.default_rng([self.seed, self.combinations.index(faults)])
        share = 1.0 - (1.0 - self.chance) ** len(faults)
        core = rng.random(replicates) < share
        return [Trial(0.0, 0.0, 1.0 if shows else inf, inf, inf, "", False, "") for shows in core]


@SEEDS
def test_rates_hold_the_truth_with_what_is_not_simulated(seeds: int) -> None:
    """Three faults; each shows the core by itself with 0.3, also where all three come at once."""
    hour_s, per_hour, chance = 3600.0, (0.02, 0.1, 0.5), 0.3
    faults = {
        f"fault {k}": SimpleNamespace(
            rate=Measured.exact(rate / hour_s, "Hz"), source="told", edge=None
        )
        for k, rate in enumerate(per_hour)
    }
    scenario = SimpleNamespace(faults=faults)
    happens = [1.0 - exp(-rate) for rate in per_hour]
    # by inclusion of every set of faults that may come, the three at once too
    truth = 0.0
    for size in range(1, 4):
        for some in combinations(range(3), size):
            weight = np.prod([h if k in some else 1.0 - h for k, h in enumerate(happens)])
            truth += float(weight) * (1.0 - (1.0 - chance) ** size)
    inside = 0
    for seed in range(seeds):
        rows = rates(scenario, DrawnRuns(seed, chance), round(hour_s / TICK_S), 64)
        (row,) = [r for r in rows if r.what == "core visible"]
        inside += row.low <= truth <= row.high
    assert inside >= 0.95 * seeds


@pytest.mark.parametrize("count", [1, 2, 3, 4])
def test_one_and_two_faults_in_a_job_are_played_and_more_are_bounded(count: int) -> None:
    """Each shows the core for certain: what is estimated is how likely one or two of them are."""
    hour_s, per_hour = 3600.0, (0.02, 0.1, 0.5, 0.3)[:count]
    faults = {
        f"fault {k}": SimpleNamespace(rate=Measured.exact(rate / hour_s, "Hz"), source="told")
        for k, rate in enumerate(per_hour)
    }
    happens = [1.0 - exp(-rate) for rate in per_hour]

    def chance(size: int) -> float:
        return sum(
            float(np.prod([h if k in some else 1.0 - h for k, h in enumerate(happens)]))
            for some in combinations(range(count), size)
        )

    found = rates(SimpleNamespace(faults=faults), DrawnRuns(1, 1.0), round(hour_s / TICK_S), 16)
    core, parts, holds = found
    assert [one.what for one in found] == ["core visible", "a line parts", "nothing holds"]
    # sums of products of a few probabilities
    assert core.p == pytest.approx(chance(1) + chance(2), rel=1e-12)
    more = sum(chance(size) for size in range(3, count + 1))
    assert core.high == pytest.approx(chance(1) + chance(2) + more, rel=1e-12)
    assert (parts.p, parts.low, holds.p, holds.low) == (0.0,) * 4
    sets = count + count * (count - 1) // 2
    assert {one.trials for one in found} == {16 * sets}
    assert rates(SimpleNamespace(faults={}), DrawnRuns(1, 1.0), 9, 16) == ()


class HalfFailed(DrawnRuns):
    """Every second trial could not be computed, and says of itself that the core showed."""

    def trials(self, faults, replicates: int):
        every = super().trials(faults, replicates)
        odd = [one._replace(core_s=1.0, failed="too stiff") for one in every[1::2]]
        return [one for both in zip(every[::2], odd, strict=True) for one in both]


def test_trials_that_could_not_be_computed_count_for_nothing() -> None:
    faults = {"it": SimpleNamespace(rate=Measured.exact(1e-4, "Hz"), source="told")}
    scenario = SimpleNamespace(faults=faults)
    core, *_ = rates(scenario, HalfFailed(1, 0.0), 36_000_000, 16)
    assert (core.p, core.low, core.trials) == (0.0, 0.0, 8)
