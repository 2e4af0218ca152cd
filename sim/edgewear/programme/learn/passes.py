"""Passes of sampling that know nothing of each other, until the ends of every interval are known.

An interval that is too narrow is the dangerous fault, and no single sample knows its own.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from edgewear.programme.learn.state import Sampled, pooled
from edgewear.programme.learn.target import Floats

ENDS = (0.05, 0.95)

SETTLED = 0.07
"""Error of an end over the width of the interval up to which a sample is settled [1]; assumed. Ends
are given outward by that error: a settled interval is at most by a seventh too wide for it."""

APART = 1.2
"""Potential scale reduction above which the populations do not agree (Gelman and Rubin 1992)."""

SURE = 0.9
"""Chance that the error of an end is no larger than is said."""

END_OF_NORMAL = 2.11
"""Deviation of the 5 % quantile of n draws of a normal, in deviations over sqrt(n):
sqrt(0.05*0.95)/phi(1.645)."""

LEAST, MOST = 2, 12
"""Passes before a sample is called settled, and after which it is given up."""


def in_passes(once: Callable[[int], Sampled], asked: int, most: int = MOST) -> Sampled:
    """Sample in passes until the numbers asked for are settled.

    Parameters:
        once: makes the pass of that number, from 0.
        asked: how many of the first shared numbers are asked for.
        most: passes at most.
    """
    parts = [once(0)]
    while len(parts) < most and not (len(parts) >= LEAST and settled(pooled(parts), asked)):
        parts.append(once(len(parts)))
    return pooled(parts)


def settled(sampled: Sampled, asked: int) -> bool:
    """Tell whether populations agree on every number asked for, and its ends are known."""
    return all(
        agreement(one, sampled.populations) <= APART
        and error_over_width(one, sampled.populations) <= SETTLED
        for one in sampled.shared[:, :asked].T
    )


def agreement(column: Floats, populations: int) -> float:
    """Potential scale reduction of populations drawn anew apart from each other [1].

    sqrt(((n - 1)/n*W + B/n)/W) of chains of n; W within, B/n the variance of their means.
    """
    chains = column.reshape(populations, -1)
    n = chains.shape[1]
    within = float(chains.var(axis=1, ddof=1).mean())
    between = float(chains.mean(axis=1).var(ddof=1))
    if within <= 0.0:
        return float("inf") if between > 0.0 else 1.0
    return float(np.sqrt(((n - 1) / n * within + between) / within))


def ends_error(column: Floats, populations: int) -> Floats:
    """Give the standard error of the 5 and 95 % quantiles, (2,), at its upper 90 % bound.

    Told by how far the quantiles of populations lie apart. As populations are few, their deviation
    is raised to the bound that so many draws of a normal have (chi square). At least what as many
    independent draws of a normal as there are particles would have.

    Parameters:
        column: (n,), population after population.
    """
    from scipy.special import gammaincinv

    parts = np.quantile(column.reshape(populations, -1), ENDS, axis=1)
    freedom = populations - 1
    least = np.sqrt(2.0 * gammaincinv(0.5 * freedom, 1.0 - SURE) / freedom)
    found = parts.std(axis=1, ddof=1) / np.sqrt(populations) / least
    independent = END_OF_NORMAL * column.std(ddof=1) / np.sqrt(len(column))
    ends: Floats = np.maximum(found, independent)
    return ends


def outward(column: Floats, populations: int) -> Floats:
    """Give the 5 and 95 % quantiles, each outward by its error, (2,)."""
    ends: Floats = np.quantile(column, ENDS) + ends_error(column, populations) * [-1.0, 1.0]
    return ends


def error_over_width(column: Floats, populations: int) -> float:
    """Error of the worse end over the width of the interval [1]."""
    low, high = np.quantile(column, ENDS)
    error = float(ends_error(column, populations).max())
    return error / float(high - low) if high > low else float("inf")
