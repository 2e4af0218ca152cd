"""The discrepancy of the wear law, as the scored forecasts say it is: no opinion enters.

For each forecast the test was played with all that nobody knows at its middle, what differs from
rope to rope and from stroke to stroke drawn, and the law's exposure multiplied by factors d. So of
each outcome it is known by which factors it would have come out so, in each of those worlds. Those
factors are taken as log-normal: log d ~ normal(m, s), m what all tests share, s what differs from
test to test. Likelihood of an outcome: mean over the worlds of Phi((b - m)/s) - Phi((a - m)/s); the
factors that give it lie between exp(a) and exp(b). Posterior over a grid, flat in m within a factor
of 20 and flat in s up to 2.5: large values are not held back, so that few tests narrow nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from math import exp, inf, log

import numpy as np
from numpy.typing import NDArray

from edgewear.forecasts.quantities import Seen
from edgewear.forecasts.scores import FINEST
from edgewear.percentiles import NORMAL_90

Floats = NDArray[np.float64]

FEWEST = 5
"""Tests below which nothing is narrowed, however well they agree: a rule, no theorem."""

MIDDLES = np.linspace(-log(20.0), log(20.0), 81)
SPREADS = np.geomspace(0.03, 2.5, 30)
FLAT = np.gradient(SPREADS)
"""Weights that make a grid of proportional steps flat in s."""


class Verdict(Enum):
    """What the scored forecasts say of the discrepancy a library has."""

    NOT_EARNED = "not earned"
    NARROWER = "narrower"
    WIDER = "wider"
    AGREES = "agrees"


@dataclass(frozen=True)
class Range:
    """A middle with its central 90 %."""

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Earned:
    """What the blind forecasts of so many tests say."""

    count: int
    """Tests, however many figures of each were forecast."""
    bias: Range
    """What all tests share: the exposure is so many times what was forecast."""
    spread: Range
    """What differs from test to test, of the logarithm."""
    factor: Range
    """The next test's own factor: middle and central 90 %."""
    now: Range
    """The discrepancy of the library, its 90 %."""

    @property
    def verdict(self) -> Verdict:
        """Whether the library's discrepancy stands."""
        present = log(self.now.high / self.now.low) / (2 * NORMAL_90)
        off = self.bias.low > self.now.high or self.bias.high < self.now.low
        if self.spread.low > present or off:
            return Verdict.WIDER
        if self.count < FEWEST:
            return Verdict.NOT_EARNED
        inside = self.now.low <= self.factor.low and self.factor.high <= self.now.high
        return Verdict.NARROWER if inside and self.spread.high < present else Verdict.AGREES

    def entry(self) -> str:
        """Give the discrepancy as a line of a library; what stands is given as it stands."""
        moved = self.verdict in (Verdict.NARROWER, Verdict.WIDER)
        given = self.factor if moved else self.now
        numbers = ", ".join(f"{k}: {v:.3g}" for k, v in vars(given).items())
        tests = f"{self.count} test{'s' * (self.count != 1)}"
        source = f"scores of {tests} forecast blind" if moved else "as it was: not earned"
        return f'discrepancy: {{{numbers}, distribution: lognormal, pedigree: "{source}"}}'


def crossings(factors: Floats, values: Floats, seen: Seen, until: float) -> Floats:
    """Find between which factors each world gives what was seen; logarithms, (worlds, 2).

    Between the factors played the logarithm of the value is interpolated; beyond them, and where
    what is looked for never came, it goes on in proportion, as the exposure does.

    Parameters:
        factors: (k,), rising; values: (worlds, k), infinite where it never came.
        seen: what came out; until: where the forecast ends.
    """
    kept = seen.within(until)
    low, high = (kept.low * (1 - FINEST), kept.high * (1 + FINEST)) if kept.exact else (
        kept.low, kept.high,
    )  # fmt: skip
    logs = np.log(factors)
    ends = [[_crossing(logs, row, end) for end in (low, high)] for row in np.atleast_2d(values)]
    return np.sort(np.array(ends, dtype=np.float64), axis=1)


def _crossing(logs: Floats, row: Floats, value: float) -> float:
    """Find the logarithm of the factor at which a world's value passes another one."""
    came = np.isfinite(row) & (row > 0.0)
    if not came.any():
        return inf
    x, y = logs[came], np.log(row[came])
    way = 1.0 if _grows(y, came) else -1.0
    if value in (0.0, inf):
        return way * (inf if value == inf else -inf)
    target = log(value)
    order = np.argsort(y, kind="stable")
    if target <= y[order[0]]:
        return float(x[order[0]] + way * (target - y[order[0]]))
    if target >= y[order[-1]]:
        return float(x[order[-1]] + way * (target - y[order[-1]]))
    return float(np.interp(target, y[order], x[order]))


def _grows(y: Floats, came: NDArray[np.bool_]) -> bool:
    """Tell whether a value grows with the exposure (a demand) or falls (a distance)."""
    if y.size > 1 and y[-1] != y[0]:
        return bool(y[-1] > y[0])
    return bool(came[0])


def earned(
    figures: Sequence[Floats],
    now: tuple[float, float, float],
    of_test: Sequence[int] | None = None,
) -> Earned:
    """Find what forecasts say of the discrepancy.

    Several figures of one test tell of one and the same factor of it: together they weigh as one,
    each the root of its likelihood (the mean of their logarithms).

    Parameters:
        figures: of each its crossings (worlds, 2); at least one.
        now: value, low and high of the library's discrepancy.
        of_test: which test each figure is of; left out, each is of a test of its own.
    """
    tests = list(range(len(figures)) if of_test is None else of_test)
    weights = _posterior(figures, [1.0 / tests.count(one) for one in tests])
    middles, spreads = weights.sum(axis=1), weights.sum(axis=0)
    bias = _range(MIDDLES, middles)
    return Earned(
        len(set(tests)),
        Range(*(exp(one) for one in vars(bias).values())),
        _range(SPREADS, spreads),
        _next(weights),
        Range(*now),
    )


def _posterior(figures: Sequence[Floats], counts: Sequence[float]) -> Floats:
    """Weights over (middles, spreads) that sum to 1, each figure counted so much."""
    from scipy.special import ndtr

    total = np.zeros((MIDDLES.size, SPREADS.size))
    for ends, count in zip(figures, counts, strict=True):
        standard = (ends[:, :, None, None] - MIDDLES[:, None]) / SPREADS
        likely = (ndtr(standard[:, 1]) - ndtr(standard[:, 0])).mean(axis=0)
        total += count * np.log(np.maximum(likely, 1e-300))
    weights = np.exp(total - total.max()) * FLAT
    found: Floats = weights / weights.sum()
    return found


def _range(at: Floats, weights: Floats) -> Range:
    share = np.cumsum(weights) - 0.5 * weights
    low, middle, high = np.interp([0.05, 0.5, 0.95], share, at)
    return Range(float(middle), float(low), float(high))


def _next(weights: Floats) -> Range:
    """Give the distribution of the next test's factor: normal in each cell, mixed."""
    from scipy.special import ndtr

    at = np.linspace(-log(1000.0), log(1000.0), 2001)
    share = np.zeros(at.size)
    for column, spread in enumerate(SPREADS):
        share += ndtr((at[:, None] - MIDDLES) / spread) @ weights[:, column]
    low, middle, high = np.interp([0.05, 0.5, 0.95], share, at)
    return Range(exp(middle), exp(low), exp(high))
