"""How likely the rated faults make it that the core shows, with an interval that is honest.

The faults that a user gives a rate for happen by a Poisson process over the job. Which of them
happen is not left to chance: each set of them is a stratum whose probability is exact, and only
what follows from it is simulated, the times drawn as they are given that they fall into the job.
So a probability of one in a million costs no more runs than one in two.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import combinations
from math import exp, inf, prod
from typing import TYPE_CHECKING, NamedTuple

from edgewear.findings.faults import Rate, Rated
from edgewear.job.faults import Injected
from edgewear.layout import TICK_S
from edgewear.procedure.fault_plan import DRAWN

if TYPE_CHECKING:
    from edgewear.procedure.fault_runs import FaultRuns, Trial
    from edgewear.scenario.models.scenario import Scenario

CONFIDENCE = 0.95
"""With which an interval holds."""

MOST_TOGETHER = 2
"""Rated faults that are simulated as happening in one job; more at once are bounded."""


class Stratum(NamedTuple):
    """Some faults happening and no others: how likely, and what came of it."""

    weight: float
    hits: int
    trials: int


class Interval(NamedTuple):
    """An estimate and what it surely lies between."""

    estimate: float
    low: float
    high: float


def happens(rate_per_s: float, duration_s: float) -> float:
    """Probability that a fault with a rate happens within a time: 1 - exp(-rate*time)."""
    return 1.0 - exp(-rate_per_s * duration_s)


def weight_of(chosen: Sequence[float], others: Sequence[float]) -> float:
    """Probability that some independent faults happen and others do not."""
    return prod(chosen) * prod(1.0 - p for p in others)


def combined(
    strata: Sequence[Stratum], remainder: float = 0.0, confidence: float = CONFIDENCE
) -> Interval:
    """The probability over all strata, each bounded exactly.

    Clopper-Pearson bounds of every stratum, each at the level that makes all of them hold
    together (Bonferroni), so that the interval covers at least as often as it says. What is not
    simulated counts as nothing below and as certain above.

    Parameters:
        remainder: probability of what no stratum covers.
        confidence: with which all bounds hold.
    """
    from scipy.stats import beta

    miss = (1.0 - confidence) / max(len(strata), 1)
    low = high = estimate = 0.0
    for weight, hits, trials in strata:
        estimate += weight * (hits / trials if trials else 1.0)  # none could be played: certain
        if hits:
            low += weight * float(beta.ppf(miss / 2, hits, trials - hits + 1))
        more = float(beta.ppf(1 - miss / 2, hits + 1, trials - hits)) if hits < trials else 1.0
        high += weight * more
    return Interval(estimate, low, min(high + remainder, 1.0))


OUTCOMES: tuple[tuple[str, Callable[[Trial], bool]], ...] = (
    ("core visible", lambda f: f.core_s < inf),
    ("a line parts", lambda f: f.parted_s < inf),
    ("nothing holds", lambda f: f.fell),
)


def rates(scenario: Scenario, runs: FaultRuns, ticks: int, replicates: int) -> tuple[Rate, ...]:
    """What the rated faults add to one job: for each outcome a probability with its interval.

    Parameters:
        ticks: how long the job takes.
        replicates: runs of each stratum.

    Returns:
        Nothing where no fault has a rate.
    """
    rated = {n: f for n, f in scenario.faults.items() if f.rate is not None and f.rate.value > 0}
    if not rated:
        return ()
    chances = {n: happens(f.rate.value, ticks * TICK_S) for n, f in rated.items() if f.rate}
    sets = [s for k in range(1, MOST_TOGETHER + 1) for s in combinations(rated, k)]
    weights = [
        weight_of([chances[n] for n in some], [p for n, p in chances.items() if n not in some])
        for some in sets
    ]
    injected = tuple(tuple(Injected(n, rated[n], tick=DRAWN) for n in some) for some in sets)
    mine = replace(runs, combinations=injected, replicates=(replicates,) * len(sets))
    trials = [[one for one in mine.trials(some, replicates) if not one.failed] for some in injected]
    none = weight_of([], list(chances.values()))
    remainder = max(1.0 - none - sum(weights), 0.0)
    through = {n: Rated(chances[n], f.source) for n, f in rated.items()}
    found = []
    for what, true in OUTCOMES:
        strata = [
            Stratum(weight, sum(map(true, some)), len(some))
            for weight, some in zip(weights, trials, strict=True)
        ]
        estimate, low, high = combined(strata, remainder, CONFIDENCE)
        many = sum(s.trials for s in strata)
        found.append(Rate(what, through, estimate, low, high, CONFIDENCE, many))
    return tuple(found)
