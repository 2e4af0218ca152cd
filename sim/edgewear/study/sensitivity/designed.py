"""Shares of variance from a design of its own: Saltelli's, by scipy, with its bootstrap."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple
from warnings import catch_warnings, simplefilter

import numpy as np
from numpy.typing import NDArray

from edgewear.errors import UsageError
from edgewear.findings.inquiries.what_matters import Share
from edgewear.study.sensitivity.given import Indices

Floats = NDArray[np.float64]

RESAMPLES = 400

RARE = 0.005
"""Chance of a sign test below which it is said which way an input lowers the outcome: of forty that
go neither way one is said to in one of five designs at most; assumed."""


class Designed(NamedTuple):
    """What a design of k inputs tells."""

    indices: Indices
    ways: tuple[float, ...]  # which way the outcome goes with each: 1 up, -1 down, 0 not clear


def designed(function: Callable[[Floats], Floats], inputs: int, base: int, seed: int) -> Designed:
    """Estimate Sobol' indices of a function of independent uniform shares.

    Parameters:
        function: (inputs, n) shares between 0 and 1 -> (n,) outcome.
        inputs: how many.
        base: size of the design, a power of 2; the function is asked base*(inputs + 2) times.
        seed: of the design and the bootstrap.

    Returns:
        First-order and total indices with 90 % bootstrap intervals (Saltelli et al., Comput. Phys.
        Commun. 181 (2010) 259, as `scipy.stats.sobol_indices` has them), and which way the outcome
        goes. What lies beyond pairs of inputs is not asked.

    Raises:
        UsageError: `base` is no power of 2.
    """
    from scipy.stats import sobol_indices, uniform

    if base < 2 or base & (base - 1):
        raise UsageError(f"{base}: the size of a design is a power of 2")
    played: list[Floats] = []  # shares of A, B, and of A with each row of B in turn
    outcomes: list[tuple[Floats, Floats, Floats]] = []

    def asked(shares: Floats) -> Floats:
        played.append(shares)
        return function(shares).copy()  # scipy takes the mean out of what it is given, in place

    def saltelli(f_A: Floats, f_B: Floats, f_AB: Floats) -> tuple[Floats, Floats]:
        outcomes.append((f_A[0], f_B[0], f_AB[:, 0]))
        return _saltelli(*outcomes[0])

    found = sobol_indices(
        func=asked,
        n=base,
        dists=[uniform()] * inputs,
        method=saltelli,
        rng=np.random.default_rng(seed),
    )
    alone, total = _intervals(outcomes[0], seed)
    shares = _shares(found.first_order, *alone), _shares(found.total_order, *total)
    first, _, with_each = outcomes[0]
    return Designed(Indices(*shares, None), _ways(played[1] - played[0], with_each - first))


def _saltelli(of_a: Floats, of_b: Floats, of_ab: Floats) -> tuple[Floats, Floats]:
    """First-order and total indices of outcomes (n,), (n,) and (inputs, n)."""
    variance = np.var([of_a, of_b])
    first = np.mean(of_b * (of_ab - of_a), axis=-1) / variance
    return first, 0.5 * np.mean((of_a - of_ab) ** 2, axis=-1) / variance


def _intervals(outcomes: tuple[Floats, Floats, Floats], seed: int) -> Floats:
    """Ends of both indices' bootstrap intervals, (2, 2, inputs), the same for the same seed."""
    from scipy.stats import bootstrap

    def statistic(rows: NDArray[np.int64]) -> Floats:
        with np.errstate(divide="ignore", invalid="ignore"):  # an outcome that does not vary
            return np.array(_saltelli(*(one[..., rows] for one in outcomes)))

    with catch_warnings():
        simplefilter("ignore")  # an input that does nothing has an interval of no width
        interval = bootstrap(
            [np.arange(outcomes[0].size)],
            statistic,
            vectorized=False,
            method="BCa",
            confidence_level=0.9,
            n_resamples=RESAMPLES,
            rng=np.random.default_rng([seed, RESAMPLES]),  # not the design's own draws again
        ).confidence_interval
    return np.stack([interval.low, interval.high], axis=1)


def _ways(moved: Floats, came: Floats) -> tuple[float, ...]:
    """Say which way the outcome goes with each input, by the signs of what changing it alone did.

    The rows of a design that differ in one input are its only independent ones: one pair for each
    of its points. Exact two-sided sign test; pairs in which nothing changed tell nothing.

    Parameters:
        moved: (inputs, n) by how much each input was changed alone.
        came: (inputs, n) by how much the outcome changed with it.
    """
    from scipy.stats import binom

    along = np.sign(moved) * np.sign(came)
    up, down = (along > 0.0).sum(axis=1), (along < 0.0).sum(axis=1)
    clear = 2.0 * binom.cdf(np.minimum(up, down), up + down, 0.5) <= RARE
    return tuple(float(way) for way in np.where(clear, np.sign(up - down), 0.0))


def _shares(values: Floats, low: Floats, high: Floats) -> tuple[Share, ...]:
    return tuple(
        Share(float(v), *(float(v if np.isnan(end) else end) for end in (a, b)))
        for v, a, b in zip(values, low, high, strict=True)
    )
