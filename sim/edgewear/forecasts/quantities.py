"""What a test can look for, as a column of a run's outcome, and what came out of it."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, isfinite
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear.errors import UsageError

Floats = NDArray[np.float64]


class LookedFor(NamedTuple):
    """One thing a test can tell."""

    column: str  # of records.RUN
    dimension: str  # of units: length, time, share, force
    until: str  # column that says how far the job itself goes; empty: it has no end
    of_exposure: bool  # in proportion to the exposure or its inverse, so that the law is judged
    stage: float = 0.0  # share of the sheath worn when it comes [1]; 0: no such stage
    events: tuple[str, ...] = ()  # words of a file of tests that tell it
    reading: str = ""  # figure of a file of tests that tells it


STAGES = {
    "third worn": ("third_worn", 1 / 3, ()),
    "two thirds worn": ("two_thirds_worn", 2 / 3, ()),
    "core visible": ("core_visible", 1.0, ("core visible", "sheath broken")),
    "parted": ("parted", 0.0, ("parted",)),
}

LOOKED_FOR = {
    **{
        word: LookedFor(f"{name}_ascended_m", "length", "ascended_m", True, stage, events)
        for word, (name, stage, events) in STAGES.items()
    },
    **{
        f"{word} time": LookedFor(f"{name}_time_s", "time", "duration_s", True, stage, events)
        for word, (name, stage, events) in STAGES.items()
    },
    "sheath worn": LookedFor("sheath_demand_max", "share", "", True, reading="demand"),
    "core loss": LookedFor("core_loss", "share", "", False, reading="core lost"),
    "strength left": LookedFor("residual_strength_n", "force", "", False),
    "peak load": LookedFor("peak_tension_n", "force", "", False),
    "anchor peak": LookedFor("anchor_peak_n", "force", "", False, reading="anchor peak"),
}
"""Word -> what it is. Stages are metres climbed, or with `time` seconds since the start."""


def looked_for(word: str) -> LookedFor:
    """Find what a word stands for.

    Raises:
        UsageError: nothing of that name.
    """
    from edgewear.scenario.text.choices import did_you_mean

    found = LOOKED_FOR.get(word)
    if found is None:
        listed = ", ".join(LOOKED_FOR)
        hint = did_you_mean(word, list(LOOKED_FOR))
        raise UsageError(f"{word!r} is nothing a test looks for: allowed are {listed}{hint}")
    return found


def read_from(runs: NDArray[np.void], word: str) -> tuple[Floats, float]:
    """Give the figure in each run, infinite where it never came, and how far the job goes.

    A run whose rope parts goes less far; what the longest one does is the job.

    Parameters:
        runs: records.RUN (n,); word: what is looked for.

    Raises:
        UsageError: the job has no such figure, such as metres climbed of a machine.
    """
    asked = looked_for(word)
    if not asked.until:
        return np.asarray(runs[asked.column], dtype=np.float64), float("inf")
    until = float(np.max(runs[asked.until]))
    if until <= 0.0:
        raise UsageError(f"{word}: nobody climbs in this job; ask for `{word} time`")
    found = np.asarray(runs[asked.column], dtype=np.float64)
    return np.where(np.isnan(found), np.inf, found), until


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
