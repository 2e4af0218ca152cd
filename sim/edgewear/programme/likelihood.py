"""How likely what was seen in a test is, given what runs of it came to."""

from __future__ import annotations

from collections.abc import Mapping
from math import inf

import numpy as np
from numpy.typing import NDArray

from edgewear.programme.model import Event, Figure, Outcome, Reading, RopeTest

Floats = NDArray[np.float64]
Figures = Mapping[Figure, Floats]
"""Number that runs give -> (n,) in SI, NaN where a run has none."""

FLOOR = -690.0
"""Least logarithm of the probability of what was seen: some 1e-300. So low that tests which
contradict each other meet between them, and neither is given up for the other."""

LEAST = 1e-9
"""Least wear whose logarithm is taken [1]."""


def log_likelihood(test: RopeTest, figures: Figures) -> Floats:
    """Log likelihood of everything that was seen in a test.

    Parameters:
        test: with outcomes, which count as independent given the run.
        figures: one column of runs for each of `test.figures()`.

    Returns: (n,)
    """
    found = [log_likelihood_of(outcome, figures) for outcome in test.seen]
    total: Floats = np.sum(found, axis=0)
    return total


def log_likelihood_of(outcome: Outcome, figures: Figures) -> Floats:
    """Log likelihood of one thing that was seen, (n,)."""
    if isinstance(outcome, Event):
        return _event(outcome, figures)
    return _reading(outcome, figures)


def _event(event: Event, figures: Figures) -> Floats:
    """Phi(z at the first look that showed it) - Phi(z at the last one that did not).

    z = ln(figure/level)/spread: one threshold, log-normal about the level, for both looks.
    """
    looks = iter(event.figures())
    before = -inf if event.not_by is None else _z(figures[next(looks)], event.level, event.spread)
    after = inf if event.by is None else _z(figures[next(looks)], event.level, event.spread)
    return _log_between(before, after)


def _reading(reading: Reading, figures: Figures) -> Floats:
    """Normal about the run's figure, or about its logarithm; an interval holds its share."""
    column = figures[reading.figures()[0]]
    low, high = reading.low, reading.high
    if reading.logarithmic:
        column = np.log(np.fmax(column, LEAST))  # NaN counts as nothing
        low = -inf if low <= 0.0 else float(np.log(low))
        high = inf if high == inf else float(np.log(high))
    if reading.censoring == "exact":
        density = -0.5 * ((low - column) / reading.spread) ** 2
        density -= np.log(reading.spread * np.sqrt(2.0 * np.pi))
        return np.where(np.isnan(column), FLOOR, np.maximum(density, FLOOR))
    return _log_between((low - column) / reading.spread, (high - column) / reading.spread)


def _z(column: Floats, level: float, spread: float) -> Floats:
    found: Floats = np.log(np.fmax(column, LEAST) / level) / spread  # NaN counts as nothing
    return found


def _log_between(low: Floats | float, high: Floats | float) -> Floats:
    """log(Phi(high) - Phi(low)), kept above the floor; NaN counts as the floor.

    Where both ends lie above 0 the mirrored tails are taken, which do not cancel.
    """
    from scipy.special import log_ndtr

    low, high = np.broadcast_arrays(np.asarray(low, float), np.asarray(high, float))
    flip = low > 0.0
    first, last = log_ndtr(np.where(flip, -high, low)), log_ndtr(np.where(flip, -low, high))
    with np.errstate(divide="ignore", invalid="ignore"):
        share = last + np.log(-np.expm1(np.minimum(first - last, 0.0)))
    found: Floats = np.fmax(share, FLOOR)
    return found
