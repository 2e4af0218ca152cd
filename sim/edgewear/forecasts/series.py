"""Is rope A tougher than rope B on this edge: two small series, some of them censored.

Two answers. *Exact*: Gehan's statistic counts, over all pairs of one outcome of each series, how
often the first surely lasts longer less how often the second does; its distribution under "the two
ropes are alike" is that of all ways to deal the same outcomes to two series of these sizes (a
permutation test, two-sided; Gehan, Biometrika 52, 1965, from memory). Without censoring it is the
test of Mann and Whitney. Two and two samples have six deals: no outcome is rarer than one in three.

*How much*: outcomes are log-normal with a middle for each rope and one spread; flat in the middles;
the spread log-normal about 0.25 (0.08 to 0.8, assumed: two tests say nothing of a spread, so
something must be said). Posterior over a grid of (spread, middle) for each series.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from math import comb, exp, inf, log, sqrt

import numpy as np
from numpy.typing import NDArray

from edgewear.errors import UsageError
from edgewear.findings.learning.series import Sides
from edgewear.forecasts.quantities import Seen
from edgewear.forecasts.scores import FINEST
from edgewear.percentiles import NORMAL_90

Floats = NDArray[np.float64]

RARE = 0.05
"""A difference that so few of all deals would show, or fewer, is told."""

MOST_DEALS = 200_000
"""More ways to deal are sampled, this many of them."""

SPREAD, SPREAD_FACTOR = 0.25, 3.2
"""Middle of the spread of like ropes on one edge, and its 90 % to either side: assumed."""

SPREADS = np.geomspace(0.03, 2.0, 41)
WAYS = 401
"""Points of the grid of middles."""

POWER = 0.8
TRIED, SERIES_TRIED = 12, 500
MOST_NEEDED = 200


def side_by_side(
    first: Sequence[Seen], second: Sequence[Seen], names: tuple[str, str] = ("first", "second")
) -> Sides:
    """Compare two series made on the same edge in the same way.

    Parameters:
        first, second: what came out, such as metres until the core shows; more is tougher.
        names: of the two.

    Raises:
        UsageError: a series without outcomes.
    """
    if not first or not second:
        raise UsageError("each series needs at least one outcome")
    pairs = pair_signs(first, second)
    chance = exact_chance(pairs, len(first))
    ratio, longer = ratio_of(first, second)
    ways = int(pairs[: len(first), len(first) :].sum())
    told = chance <= RARE and ways != 0
    return Sides(
        names=names,
        counts=(len(first), len(second)),
        verdict=_verdict(ways) if told else "not told",
        chance=chance,
        least_chance=least_chance(len(first), len(second)),
        ratio=ratio,
        first_longer=longer,
        needed=None if ratio is None else samples_needed(ratio[0], _spread(first, second)),
    )


def _verdict(ways: int) -> str:
    return "first lasts longer" if ways > 0 else "second lasts longer"


def pair_signs(first: Sequence[Seen], second: Sequence[Seen]) -> NDArray[np.int64]:
    """Compare every outcome with every other: 1 where the row surely lasts longer, else -1 or 0."""
    whole = (*first, *second)
    low = np.array([one.low for one in whole])
    high = np.array([one.high for one in whole])
    longer = (low[:, None] >= high) & ~((low[:, None] == high) & (low == high[:, None]))
    found: NDArray[np.int64] = longer.astype(np.int64) - longer.T.astype(np.int64)
    return found


def exact_chance(pairs: NDArray[np.int64], count: int) -> float:
    """Give the share of all deals whose statistic lies at least as far from 0.

    Parameters:
        pairs: (n, n) of `pair_signs`; count: size of the first series.
    """
    whole = len(pairs)
    total = pairs.sum(axis=1)
    seen = abs(int(total[:count].sum()))  # pairs inside a series cancel
    if comb(whole, count) <= MOST_DEALS:
        deals = np.array(list(combinations(range(whole), count)))
        far = np.abs(total[deals].sum(axis=1)) >= seen
        return float(far.mean())
    rng = np.random.default_rng(0)
    ranks = np.argsort(rng.random((MOST_DEALS, whole)), axis=1)[:, :count]
    far = np.abs(total[ranks].sum(axis=1)) >= seen
    return float((far.sum() + 1) / (MOST_DEALS + 1))


def least_chance(first: int, second: int) -> float:
    """Give the smallest chance that two series of these sizes can come to."""
    return min(2.0 / comb(first + second, first), 1.0)


def _bounds(series: Sequence[Seen]) -> Floats:
    """Logarithms of the ends, (n, 2); a figure stands for half a per cent to each side."""
    wide = [
        (one.low * (1 - FINEST), one.high * (1 + FINEST)) if one.exact else (one.low, one.high)
        for one in series
    ]
    with np.errstate(divide="ignore"):
        found: Floats = np.log(np.array(wide))
    return found


def _middles(first: Sequence[Seen], second: Sequence[Seen]) -> Floats:
    ends = np.concatenate([_bounds(first), _bounds(second)])
    known = ends[np.isfinite(ends)]
    return np.linspace(known.min() - 3.0, known.max() + 3.0, WAYS)


def _likelihood(series: Sequence[Seen], at: Floats) -> tuple[Floats, Floats]:
    """Likelihood of a series, (spreads, middles), 1 at most in each row; its logarithm there."""
    from scipy.special import ndtr

    found = np.zeros((SPREADS.size, at.size))
    for low, high in _bounds(series):
        share = ndtr((high - at) / SPREADS[:, None]) - ndtr((low - at) / SPREADS[:, None])
        found += np.log(np.maximum(share, 1e-30))
    most = found.max(axis=1)
    return np.exp(found - most[:, None]), most


def _believed(first: Sequence[Seen], second: Sequence[Seen]) -> tuple[Floats, Floats, Floats]:
    """Likelihoods of both series, and the weights of the spreads."""
    at = _middles(first, second)
    (one, least), (other, most) = _likelihood(first, at), _likelihood(second, at)
    width = log(SPREAD_FACTOR) / NORMAL_90
    told = least + most - 0.5 * (np.log(SPREADS / SPREAD) / width) ** 2
    weights = np.exp(told - told.max()) * one.sum(axis=1) * other.sum(axis=1)
    return one, other, weights / weights.sum()


def ratio_of(
    first: Sequence[Seen], second: Sequence[Seen]
) -> tuple[tuple[float, float, float] | None, float | None]:
    """Posterior of how many times as long the first lasts, and the chance that it is longer."""
    if not (_bounded(first) and _bounded(second)):
        return None, None
    at = _middles(first, second)
    one, other, weights = _believed(first, second)
    share = np.zeros(2 * WAYS - 1)
    for row, weight in enumerate(weights):
        both = np.convolve(one[row], other[row][::-1])
        share += weight * both / both.sum()
    differences = (np.arange(2 * WAYS - 1) - (WAYS - 1)) * (at[1] - at[0])
    cumulated = np.cumsum(share) - 0.5 * share
    low, middle, high = np.exp(np.interp([0.05, 0.5, 0.95], cumulated, differences))
    longer = float(share[differences > 0].sum() + 0.5 * share[WAYS - 1])
    return (float(middle), float(low), float(high)), longer


def _bounded(series: Sequence[Seen]) -> bool:
    """Tell whether a series bounds its middle from both sides."""
    return any(one.low > 0.0 for one in series) and any(one.high < inf for one in series)


def _spread(first: Sequence[Seen], second: Sequence[Seen]) -> float:
    _, _, weights = _believed(first, second)
    return exp(float(weights @ np.log(SPREADS)))


def samples_needed(ratio: float, spread: float) -> int | None:
    """Give the samples of each rope that tell so large a ratio in eight of ten series.

    Up to twelve by trying the exact test on drawn series; beyond, the normal approximation of
    Noether (Journal of the American Statistical Association 82, 1987, from memory):
    n = (z_0.975 + z_0.8)^2/(6 (p - 1/2)^2), p the chance that one of the tougher outlasts one of
    the other. None: more than 200.

    Parameters:
        ratio: how many times as long; spread: of like ropes, of the logarithm.
    """
    from scipy.special import ndtr, ndtri

    p = float(ndtr(abs(log(ratio)) / (sqrt(2.0) * spread)))
    if p - 0.5 < 1e-3:
        return None
    whole = int(np.ceil((ndtri(1 - RARE / 2) + ndtri(POWER)) ** 2 / (6.0 * (p - 0.5) ** 2)))
    least = next(n for n in range(1, 10) if least_chance(n, n) <= RARE)
    for count in range(least, min(whole, TRIED) + 1):
        if _told_by(count, abs(log(ratio)) / spread) >= POWER:
            return count
    return None if whole > MOST_NEEDED else max(whole, least)


def _told_by(count: int, apart: float) -> float:
    """Share of drawn series of so many that the exact test tells apart."""
    from scipy.stats import mannwhitneyu

    drawn = np.random.default_rng(0).standard_normal((2, SERIES_TRIED, count))
    found = mannwhitneyu(drawn[0] + apart, drawn[1], axis=1, method="exact").pvalue
    return float(np.mean(found <= RARE))
