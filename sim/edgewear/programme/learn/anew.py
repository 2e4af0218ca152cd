"""Particles weighed and drawn anew as a power of a likelihood rises."""

from __future__ import annotations

import numpy as np

from edgewear.programme.learn.state import POPULATIONS
from edgewear.programme.learn.target import Floats, Whole

WANTED = 0.5
"""Share of effective particles that the next power may leave."""


def drawn_anew(gain: Floats, left: float, start: float) -> tuple[float, Whole, Floats]:
    """Raise a power as far as particles allow, and draw them anew within their populations.

    Parameters:
        gain: (n,) log likelihood that the power is of.
        left: most that it may rise.
        start: number of chance between 0 and 1.

    Returns: the rise; the rows drawn (n,); the log evidence gained (populations,).
    """
    apart = gain.reshape(POPULATIONS, -1)
    rise = _rise(apart, left)
    kept = [
        k * apart.shape[1] + _systematic(_weights(rise * one), start) for k, one in enumerate(apart)
    ]
    most = rise * apart.max(axis=1)
    gained = most + np.log(np.exp(rise * apart - most[:, None]).mean(axis=1))
    return rise, np.concatenate(kept), gained


def effective(gain: Floats) -> float:
    """Effective particles of weights whose logarithms these are (n,), over the populations."""
    apart = gain.reshape(POPULATIONS, -1)
    return float(sum(1.0 / (_weights(one) ** 2).sum() for one in apart))


def _rise(log_likelihood: Floats, left: float) -> float:
    """The largest rise of the power that leaves enough effective particles, by halving.

    Parameters:
        log_likelihood: (populations, n).
        left: most it may be.
    """

    def enough(rise: float) -> bool:
        return effective(rise * log_likelihood.reshape(-1)) >= WANTED * log_likelihood.size

    if enough(left):
        return left
    low, high = 0.0, left
    for _ in range(40):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if enough(middle) else (low, middle)
    return max(low, 1e-6)


def _weights(log_weight: Floats) -> Floats:
    raw = np.exp(log_weight - log_weight.max())
    weights: Floats = raw / raw.sum()
    return weights


def _systematic(weight: Floats, start: float) -> Whole:
    """Draw as many as there are, in proportion to their weights, with one number of chance."""
    at = (np.arange(len(weight)) + start) / len(weight)
    found: Whole = np.minimum(np.searchsorted(np.cumsum(weight), at), len(weight) - 1)
    return found
