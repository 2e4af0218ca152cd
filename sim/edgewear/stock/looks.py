"""How likely a trained eye is to say what it said, given how worn the rope is."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

EYE = 0.35
"""Error of a trained eye in the logarithm of wear, one standard deviation; assumed."""

SEEN = {"nothing": (0.0, 0.25), "fuzz": (0.25, 0.5), "yarns cut": (0.5, 1.0),
        "core visible": (1.0, math.inf)}  # fmt: skip
"""Sheath demand that each word stands for, from ... to [1]; from memory."""

FINDINGS = (*SEEN, "sheath broken", "glazed", "stiff", "soft or lumpy", "discoloured")
"""What an inspection may find; words beyond those of wear say nothing about how much is worn."""

FLOOR = 1e-6
"""Least likelihood of a word or travel, so that one slip of the pen cannot rule out every world."""


def inspection(seen: str, demand: Floats) -> Floats:
    """Log likelihood of what an eye saw, given the wear of each world at that moment.

    Parameters:
        seen: nothing, fuzz, yarns cut or core visible.
        demand: (n,) sheath demand [1].

    Returns: (n,)
    """
    low, high = SEEN[seen]
    wear = np.log(np.fmax(demand, 1e-6))
    above = _normal((wear - math.log(low)) / EYE) if low > 0 else np.ones_like(wear)
    beyond = _normal((wear - math.log(high)) / EYE) if math.isfinite(high) else np.zeros_like(wear)
    return np.asarray(np.log(np.maximum(above - beyond, FLOOR)))


def _normal(z: Floats) -> Floats:
    return np.array([0.5 * math.erfc(-one / math.sqrt(2)) for one in z])


def weights(log_likelihood: Floats) -> Floats:
    """Normalised weights of the worlds.

    Parameters:
        log_likelihood: (n,)

    Returns: (n,), summing to 1.
    """
    raw = np.exp(log_likelihood - log_likelihood.max())
    return np.asarray(raw / raw.sum())


def effective(weight: Floats) -> float:
    """Effective sample size of weights, 1/sum(w^2) (Kish 1965).

    Parameters:
        weight: (n,), summing to 1.
    """
    return float(1.0 / (weight**2).sum())


NEAR = 0.5 * math.log(FLOOR)
"""Logarithm of the likelihood that a term of a reading has at least in a world that comes near it.

Halfway to the floor: beyond it the floor decides more than the reading does; assumed.
"""


def believed(weight: Floats, log_likelihood: Floats) -> float:
    """Share of the weight that lies on worlds which come near a reading.

    Near is a world in which the reading is at most the root of FLOOR less likely than in its best
    one. Where the floor holds in nearly all worlds, other readings choose among them, and the
    reading is passed over however many worlds the weights rest on.

    Parameters:
        weight: (n,), of all readings together, summing to 1.
        log_likelihood: (n,), of the one reading.
    """
    near = log_likelihood >= log_likelihood.max() + NEAR
    return float(weight[near].sum())


LEAST_BELIEVED = 0.95
"""With less of the weight near a reading it is passed over and corrects nothing.

What is read off is the careful end, the worst 5 %: it must not lie where a reading is disbelieved.
"""
