"""What came out of a test: a figure, or the interval it lies in."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, isfinite

from edgewear.errors import UsageError


@dataclass(frozen=True)
class Seen:
    """The interval in which what was looked for lies; one end without end where a test stopped.

    A figure read off has two equal ends. Whole when the test ended after 5 m: 5 to infinity. Broken
    when first looked at, at 2 m: 0 to 2.
    """

    low: float  # in SI
    high: float

    def __post_init__(self) -> None:
        """Refuse what is no interval of a quantity that is never negative.

        Raises:
            UsageError: ends that do not rise, below 0, or nothing seen at all.
        """
        if not 0.0 <= self.low <= self.high or not isfinite(self.low):
            raise UsageError(f"seen {self.low:g} to {self.high:g}: two ends that rise, from 0")
        if self.low == 0.0 and self.high == inf:
            raise UsageError("seen 0 to any: that tells nothing")

    @property
    def exact(self) -> bool:
        """Whether a figure was read off."""
        return self.low == self.high

    def within(self, until: float) -> Seen:
        """Give what a test tells that ends at `until` at the latest.

        Parameters:
            until: where the forecast itself ends, in SI.
        """
        if self.low >= until:
            return Seen(until, inf)
        return Seen(self.low, inf) if self.high > until else self
