"""How much of an option's spread is what nobody knows, and how much differs each time."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from edgewear.dataset.reading import Dataset

EPISTEMIC = "uncertainty (epistemic)"
"""How the meaning of such a column of the plan begins."""

TRIALS_A_COLUMN = 3
"""Trials needed for each column before a share is given."""


class SpreadShares(NamedTuple):
    """Shares of the variance of the margin, as normal scores of its ranks."""

    epistemic: float  # of what nobody knows
    aleatory: float  # the rest: this rope, this stroke


def spread_shares(
    dataset: Dataset, option: str, margins: NDArray[np.float64]
) -> SpreadShares | None:
    """Divide an option's spread between what nobody knows and what differs each time.

    Parameters:
        dataset: the comparison.
        option: its name.
        margins: (n,) in the order of the replicates.

    Returns:
        None with too few trials to tell, or where nothing spreads.
    """
    plan = dataset.plan()
    names = [f.name for f in plan.schema if _meaning(f).startswith(EPISTEMIC)]
    mine = plan.column("option").to_numpy() == option
    columns = np.array([plan.column(name).to_numpy()[mine] for name in names])
    varying = [c for c in columns if np.isfinite(c).all() and np.ptp(c) > 0.0]
    return explained(np.array(varying), margins)


def explained(columns: NDArray[np.float64], margins: NDArray[np.float64]) -> SpreadShares | None:
    """Adjusted share of the margins' variance that a linear fit on columns explains.

    All are turned into normal scores of their ranks first, so that long tails count little.

    Parameters:
        columns: (k, n) what nobody knows.
        margins: (n,) not finite: worse than all others.
    """
    held = np.where(np.isfinite(margins), margins, -np.inf)
    many, count = len(held), len(columns)
    if count == 0 or many < TRIALS_A_COLUMN * count or (held == held[0]).all():
        return None
    y = _scores(held)
    x = np.column_stack([np.ones(many), *(_scores(column) for column in columns)])
    fitted = x @ np.linalg.lstsq(x, y, rcond=None)[0]
    left = float(((y - fitted) ** 2).sum() / ((y - y.mean()) ** 2).sum())
    share = 1.0 - left * (many - 1) / (many - count - 1)
    epistemic = min(max(share, 0.0), 1.0)
    return SpreadShares(epistemic, 1.0 - epistemic)


def _scores(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Normal scores of the ranks, ties sharing theirs."""
    from scipy.special import ndtri
    from scipy.stats import rankdata

    scores: NDArray[np.float64] = ndtri((rankdata(values) - 0.5) / len(values))
    return scores


def _meaning(field: Any) -> str:
    return (field.metadata or {}).get(b"meaning", b"").decode()
