"""A comparison corrected by what was measured on site."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from edgewear.python.results import Results

if TYPE_CHECKING:
    import pandas as pd

    from edgewear.study.correction.site_correction import Corrected


@dataclass(frozen=True, eq=False)
class Observed:
    """What was forecast, what was measured, and how far the trials agree with it."""

    results: Results
    """Of the comparison, before it was corrected."""
    weights: pd.Series[float]
    """Weight of each trial, by replicate, the same in every option; they sum to 1."""
    effective: float
    """Number of equally weighted trials that would be as good; where it does not hold, that fit."""
    holds: bool
    """Whether the forecast was corrected; if not, hardly any trial agrees, or a reading says
    stop, and the weights say nothing of the job."""
    headline: str
    """What the observations come to, in a sentence or two."""
    readings: pd.DataFrame
    """What was read beside what was forecast for it: 5th, 50th and 95th percentile."""


def observed(results: Results, found: Corrected) -> Observed:
    """Put a correction into frames.

    Parameters:
        results: of the comparison.
        found: its correction.
    """
    import pandas as pd

    weights = pd.Series(found.weights, name="weight")
    weights.index.name = "replicate"
    document = found.as_json()
    rows = [
        {
            "what": one["what"], "read": one["read"], "unit": one["unit"],
            **(one["forecast"] or {}), "words": one["words"], "agrees": one["agrees"],
        }
        for one in document["observed"]
    ]  # fmt: skip
    return Observed(
        results, weights, found.effective, bool(document["holds"]), found.headline,
        pd.DataFrame(rows),
    )  # fmt: skip


__all__ = ["Observed"]
