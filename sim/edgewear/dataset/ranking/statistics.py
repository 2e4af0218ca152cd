"""Figures of a sample: quantiles that know "never", chances that share ties, their own errors.

A quantile is interpolated between two trials (`percentiles.between`); between a value and "never"
there is nothing to interpolate, so it is none.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from edgewear.dataset.ranking.model import Quantiles
from edgewear.percentiles import HIGH, LOW, MIDDLE, between, known

Floats = NDArray[np.float64]
Places = NDArray[np.int64]

RESAMPLES = 200
TWO_SIDED_95 = 1.96


def quantile(values: Floats, share: float) -> float | None:
    """Give a quantile of values among which infinities stand for "never" or "unknown".

    Parameters:
        values: (n,), no NaN; minus infinity sorts before, infinity after every number.
        share: 0 to 1.

    Returns:
        None when it falls among or next to infinities, or when there are no values.
    """
    return known(between(values, share)) if values.size else None


def counted_in(values: Floats, share: float) -> Floats | None:
    """Give how much each value counts in its sample's quantile: one or two of them, 1 in all.

    So what else is known of those trials can be told of the quantile without contradicting it.

    Parameters:
        values: (n,), no NaN; share: 0 to 1.

    Returns:
        (n,) weights; None where the quantile is none.
    """
    if quantile(values, share) is None:
        return None
    at = share * (values.size - 1)
    low = math.floor(at)
    order = np.argsort(values, kind="stable")
    found = np.zeros(values.size)
    found[order[low]] = 1.0 - (at - low)
    found[order[min(low + 1, values.size - 1)]] += at - low
    return found


def quantiles(values: Floats) -> Quantiles:
    """Give the 5th, 50th and 95th percentile."""
    return Quantiles(*(quantile(values, share) for share in (LOW, MIDDLE, HIGH)))


def quantile_errors(values: Floats) -> Quantiles:
    """Give the Monte Carlo standard error of the three percentiles.

    Half the distance between the order statistics one binomial standard deviation,
    sqrt(n*p*(1 - p)), below and above the percentile's place.
    """
    errors = []
    for share in (LOW, MIDDLE, HIGH):
        width = math.sqrt(share * (1 - share) / values.size) if values.size else 0.0
        low = quantile(values, max(share - width, 0.0))
        high = quantile(values, min(share + width, 1.0))
        errors.append(None if low is None or high is None else (high - low) / 2)
    return Quantiles(*errors)


def careful(values: Floats, ok: NDArray[np.bool_]) -> Floats:
    """Put trials that could not be computed at the low end, where the careful reader looks."""
    return np.where(ok & np.isfinite(values), values, -np.inf)


def never_is_late(values: Floats, ok: NDArray[np.bool_]) -> Floats:
    """Read NaN in trials that went well as "never"; leave the others out."""
    return np.where(np.isnan(values), np.inf, values)[ok]


def dense_places(grades: Places, values: Floats) -> Places:
    """Number outcomes by grade, then by value, equal ones alike, over all options at once.

    Parameters:
        grades: (options, n) 0 not computed, 1 parted, 2 not finished, 3 held.
        values: (options, n) what orders them inside a grade.

    Returns:
        (options, n) a higher number is the better outcome.
    """
    pairs = np.stack([grades.astype(np.float64).ravel(), values.ravel()], axis=1)
    _, inverse = np.unique(pairs, axis=0, return_inverse=True)
    return inverse.reshape(grades.shape).astype(np.int64)


def chances_of_first(places: Places) -> Floats:
    """Give each option's chance of coming out first; those level in a trial share it.

    Parameters:
        places: (options, n) from `dense_places`.

    Returns:
        (options,) adding up to 1.
    """
    first = places == places.max(axis=0)
    return np.asarray((first / first.sum(axis=0)).mean(axis=1))


def chance_of_beating(places: Places, other: Places) -> float:
    """Give the share of trials in which an option comes out before another, ties half.

    Parameters:
        places, other: (n,) of the two, trial by trial.
    """
    return float((places > other).mean() + 0.5 * (places == other).mean())


def share_error(share: float, trials: int) -> float:
    """Give the standard error of a share of trials.

    Agresti and Coull's two added successes and failures keep it above zero at 0 and 1
    (The American Statistician 52, 1998).
    """
    kept = (share * trials + 2) / (trials + 4)
    return math.sqrt(kept * (1 - kept) / (trials + 4))


def difference_error(values: Floats, other: Floats, share: float, seed: int) -> float | None:
    """Give the standard error of the difference between two options' quantiles.

    The trials are resampled in pairs, for both options met the same worlds.

    Parameters:
        values, other: (n,) margins, trial by trial.
        share: of the quantile.
        seed: of the study; the same data give the same figure.

    Returns:
        None when a quantile is none.
    """
    stream = np.random.Generator(np.random.Philox(key=np.array([seed, 1], dtype=np.uint64)))
    rows = stream.integers(0, values.size, (RESAMPLES, values.size))
    found = []
    for one in (values, other):
        if quantile(one, share) is None or not np.isfinite(one).all():
            return None
        found.append(between(one[rows], share, 1))
    return float(np.std(found[0] - found[1], ddof=1))


def replicates_to_settle(difference: float, error: float, trials: int) -> int | None:
    """Say how many trials would tell two options apart, or None when no number would.

    Monte Carlo errors shrink with the square root of the number of trials. A thousand million
    of them or more count as no number.
    """
    if difference == 0:
        return None
    needed = trials * (TWO_SIDED_95 * error / abs(difference)) ** 2
    return math.ceil(needed / 64) * 64 if needed < 1e9 else None
