"""Many forecasts beside what came out: coverage and reliability, with what so few leave open.

Where in its forecast an outcome lies is a figure between 0 and 1, or, where an interval was seen,
an interval of such figures; that counts in part (Czado, Gneiting and Held, Biometrics 65, 2009,
from memory). The intervals around shares are those of Clopper and Pearson.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

from edgewear.forecasts.quantities import Seen

Floats = NDArray[np.float64]

LEVELS = (0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95)
"""Shares of the forecasts at which a reliability diagram is drawn."""


@dataclass(frozen=True)
class Place:
    """Where in its forecast an outcome lies: from which share of the draws to which."""

    low: float
    high: float

    def below(self, level: float) -> float:
        """Give how much of it lies at or below a level, 0 to 1."""
        if self.high <= level:
            return 1.0
        return 0.0 if self.low >= level else (level - self.low) / (self.high - self.low)

    def inside(self, share: float) -> float:
        """Give how much of it lies in the central share, 0 to 1."""
        return self.below((1 + share) / 2) - self.below((1 - share) / 2)


def place(draws: Floats, seen: Seen, until: float = inf) -> Place:
    """Find where in a forecast an outcome lies.

    Parameters:
        draws: (n,), infinite where what is looked for never came; seen: what came out.
        until: where the forecast ends.
    """
    kept = seen.within(until)
    capped = np.minimum(np.asarray(draws, dtype=np.float64), until)
    low = float(np.mean(capped < kept.low))
    high = 1.0 if kept.high == inf else float(np.mean(capped <= kept.high))
    return Place(low, high)


@dataclass(frozen=True)
class Share:
    """A share of so many, with its 90 % interval."""

    value: float
    low: float
    high: float


def share_of(parts: Sequence[float]) -> Share:
    """Give the share of forecasts for which something holds, some of them in part.

    Parameters:
        parts: 0 to 1 each; those in part widen the interval to either side.
    """
    from scipy.stats import beta

    count, surely = len(parts), sum(one >= 1.0 for one in parts)
    perhaps = sum(one > 0.0 for one in parts)
    low = float(beta.ppf(0.05, surely, count - surely + 1)) if surely else 0.0
    high = float(beta.ppf(0.95, perhaps + 1, count - perhaps)) if perhaps < count else 1.0
    return Share(sum(parts) / count, low, high)


def below_levels(places: Sequence[Place]) -> list[tuple[float, list[float]]]:
    """Give at each level how much of each outcome lies at or below what was forecast for it."""
    return [(level, [one.below(level) for one in places]) for level in LEVELS]
