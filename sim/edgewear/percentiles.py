"""Percentiles of a sample, defined once.

Two questions are asked of a sample. *Which value do 19 of 20 keep to?* The answer is a value of the
sample: the inverse of its empirical distribution (number 1 of Hyndman and Fan, The American
Statistician 50, 1996). *Where does the percentile of what was sampled lie?* The answer lies between
two values of it (number 7 there). Infinities stand for "never" in both.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, floor, inf, isfinite
from typing import overload

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

LOW, MIDDLE, HIGH = 0.05, 0.5, 0.95
"""Careful end, middle and good end."""

NORMAL_90 = 1.6448536269514722
"""Half width of a 90 % interval of a normal distribution, in standard deviations."""

ROUNDING = 1e-12
"""Share of a count that rounding may make of a share: 0.05 of 20 is one, not a little more."""


def kept_to(values: Sequence[float] | Floats, share: float) -> float:
    """Give the least value of a sample that at least a share of it does not pass.

    Parameters:
        values: (n,), at least one, no NaN; infinities allowed.
        share: 0 to 1.
    """
    ordered = np.sort(np.asarray(values, dtype=np.float64))
    place = ceil(share * ordered.size - ROUNDING * ordered.size)
    return float(ordered[min(max(place, 1), ordered.size) - 1])


def known(value: float) -> float | None:
    """Give a value, or None where it is "never"."""
    return value if isfinite(value) else None


@overload
def between(values: Floats, share: float) -> float: ...


@overload
def between(values: Floats, share: float | Sequence[float], axis: int) -> Floats: ...


def between(
    values: Floats, share: float | Sequence[float], axis: int | None = None
) -> float | Floats:
    """Give a percentile interpolated between the two values of a sample next to it.

    Parameters:
        values: (n,), or with `axis` any; at least one, no NaN. Next to an infinity there is nothing
            to interpolate: then it is that infinity.
        share: 0 to 1; with `axis` also several.
        axis: of the sample, where values are many samples beside each other; all finite then.
    """
    if axis is not None or not isinstance(share, float | int):
        if np.ndim(values) == 1 and not isinstance(share, float | int):
            return _of_one(values, share)
        return np.asarray(np.quantile(values, share, axis=axis))
    ordered = np.sort(np.asarray(values, dtype=np.float64))
    at = share * (ordered.size - 1)
    low = floor(at)
    below, above = float(ordered[low]), float(ordered[min(low + 1, ordered.size - 1)])
    if at == low or below == above:
        return below
    if not (isfinite(below) and isfinite(above)):
        return -inf if below == -inf else inf
    return below + (at - low) * (above - below)


def _of_one(values: Floats, shares: Sequence[float]) -> Floats:
    """Several percentiles of one sample: as numpy gives them, bit for bit, and quicker.

    Parameters: `values`: (n,), all finite; `shares`: (k,).
    """
    ordered = np.sort(values).tolist()
    last = len(ordered) - 1
    found = np.empty(len(shares))
    for place, share in enumerate(shares):
        at = share * last
        low = floor(at)
        below, above = ordered[low], ordered[min(low + 1, last)]
        part, width = at - low, above - below
        # from the nearer end, so that rounding leads past neither
        found[place] = below + width * part if part < 0.5 else above - width * (1.0 - part)
    return found
