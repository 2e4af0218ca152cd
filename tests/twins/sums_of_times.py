"""The distribution of a sum of independent times, by numerical convolution of their densities."""

from __future__ import annotations

import numpy as np
from scipy.stats import norm

Z_95 = 1.6448536269514722


def cumulative_of(legs, step_s=1.0, last_s=8_000.0):
    """Cumulative distribution of the sum of some legs on a grid [s].

    A leg's lognormal has its own width on either side of its middle, as the library states it by
    its central 90 %; a way takes its length over a normal speed with halves of their own, and no
    speed below a tenth of the middle one.
    """
    grid = np.arange(0.0, last_s, step_s)
    total = np.zeros(grid.size)
    total[0] = 1.0
    for leg in legs:
        density = np.diff(_cdf(leg, np.append(grid, last_s)), prepend=0.0)[: grid.size]
        total = np.fft.irfft(
            np.fft.rfft(total, 2 * grid.size) * np.fft.rfft(density, 2 * grid.size), 2 * grid.size
        )[: grid.size]
    return grid, np.cumsum(total)


def _cdf(leg, at_s):
    q = leg.quantity
    if q.distribution == "fixed":
        found = leg.way_m / q.value if leg.way_m else q.value
        return (at_s >= found).astype(float)
    if leg.way_m:
        with np.errstate(divide="ignore"):
            speed = leg.way_m / np.maximum(at_s, 1e-9)
        slower = 1.0 - _halves(speed, q.value, q.low, q.high)
        return np.where(speed < q.value / 10, 1.0, slower)
    if leg.up_to:
        shares = (np.arange(100) + 0.5) / 100
        return np.mean([_lognormal(at_s / share, q) for share in shares], axis=0)
    return _lognormal(at_s, q)


def _lognormal(at_s, q):
    with np.errstate(divide="ignore"):
        return _halves(np.log(np.maximum(at_s, 1e-300)), *np.log([q.value, q.low, q.high]))


def _halves(at, middle, low, high):
    width = np.where(at < middle, middle - low, high - middle) / Z_95
    return norm.cdf((at - middle) / width)
