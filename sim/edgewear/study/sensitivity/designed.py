"""Shares of variance from a design of its own: Saltelli's, by scipy, with its bootstrap."""

from __future__ import annotations

from collections.abc import Callable
from warnings import catch_warnings, simplefilter

import numpy as np
from numpy.typing import NDArray

from edgewear.errors import UsageError
from edgewear.findings.inquiries.what_matters import Share
from edgewear.study.sensitivity.given import Indices

Floats = NDArray[np.float64]

RESAMPLES = 400


def designed(function: Callable[[Floats], Floats], inputs: int, base: int, seed: int) -> Indices:
    """Estimate Sobol' indices of a function of independent uniform shares.

    Parameters:
        function: (inputs, n) shares between 0 and 1 -> (n,) outcome.
        inputs: how many.
        base: size of the design, a power of 2; the function is asked base*(inputs + 2) times.
        seed: of the design and the bootstrap.

    Returns:
        First-order and total indices with 90 % bootstrap intervals (Saltelli et al., Comput. Phys.
        Commun. 181 (2010) 259, as `scipy.stats.sobol_indices` has them).

    Raises:
        UsageError: `base` is no power of 2.
    """
    from scipy.stats import sobol_indices, uniform

    if base < 2 or base & (base - 1):
        raise UsageError(f"{base}: the size of a design is a power of 2")
    chance = np.random.default_rng(seed)

    def asked(shares: Floats) -> Floats:
        return function(shares).copy()  # scipy takes the mean out of what it is given, in place

    found = sobol_indices(
        func=asked, n=base, dists=[uniform()] * inputs, method="saltelli_2010", rng=chance
    )
    with catch_warnings():
        simplefilter("ignore")  # an input that does nothing has an interval of no width
        interval = found.bootstrap(confidence_level=0.9, n_resamples=RESAMPLES)
    alone = _shares(found.first_order, interval.first_order.confidence_interval)
    total = _shares(found.total_order, interval.total_order.confidence_interval)
    return Indices(alone, total, Share(0.0, 0.0, 0.0))


def _shares(values: Floats, interval: object) -> tuple[Share, ...]:
    low, high = getattr(interval, "low"), getattr(interval, "high")  # noqa: B009
    return tuple(
        Share(float(v), *(float(v if np.isnan(end) else end) for end in (a, b)))
        for v, a, b in zip(values, low, high, strict=True)
    )
