"""How much of an option's spread is what nobody knows, and how much differs each time."""

from __future__ import annotations

from functools import lru_cache
from statistics import NormalDist
from typing import TYPE_CHECKING, NamedTuple
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from edgewear.dataset.schema import array_of

if TYPE_CHECKING:
    import pyarrow as pa

    from edgewear.dataset.reading import Dataset

Floats = NDArray[np.float64]

EPISTEMIC = b"epistemic"
"""Kind of such a column of the plan."""

TRIALS_A_COLUMN = 3
"""Trials needed for each column before a share is given."""


class SpreadShares(NamedTuple):
    """Shares of the variance of the margin, as normal scores of its ranks."""

    epistemic: float  # of what nobody knows
    aleatory: float  # the rest: this rope, this stroke


class _Known(NamedTuple):
    """What nobody knows in a comparison, read once for all its options."""

    options: NDArray[np.object_]  # (rows,)
    columns: Floats  # (k, rows)
    directions: dict[bytes, Floats]  # which columns vary -> orthonormal directions they span


_READ: WeakKeyDictionary[Dataset, _Known] = WeakKeyDictionary()


def spread_shares(dataset: Dataset, option: str, margins: Floats) -> SpreadShares | None:
    """Divide an option's spread between what nobody knows and what differs each time.

    Parameters:
        dataset: the comparison; every option meets the same worlds.
        option: its name.
        margins: (n,) in the order of the replicates.

    Returns:
        None with too few trials to tell, or where nothing spreads.
    """
    if dataset not in _READ:
        _READ[dataset] = _known(dataset)
    known = _READ[dataset]
    columns = known.columns[:, known.options == option]
    varies = np.isfinite(columns).all(axis=1) & (np.ptp(columns, axis=1) > 0.0)
    if not _enough(int(varies.sum()), margins):
        return None
    key = varies.tobytes()
    if key not in known.directions:
        known.directions[key] = _directions(columns[varies])
    return _shares(known.directions[key], margins)


def explained(columns: Floats, margins: Floats) -> SpreadShares | None:
    """Adjusted share of the margins' variance that a linear fit on columns explains.

    All are turned into normal scores of their ranks first, so that long tails count little.

    Parameters:
        columns: (k, n) what nobody knows, each varying.
        margins: (n,) not finite: worse than all others.
    """
    return _shares(_directions(columns), margins) if _enough(len(columns), margins) else None


def _enough(count: int, margins: Floats) -> bool:
    return bool(
        count > 0 and len(margins) >= TRIALS_A_COLUMN * count and (margins != margins[0]).any()
    )


def _directions(columns: Floats) -> Floats:
    """Orthonormal columns (n, k + 1) that span a constant and the columns' scores."""
    ones = np.ones(columns.shape[1])
    q, _ = np.linalg.qr(np.column_stack([ones, *(_scores(column) for column in columns)]))
    return q


def _shares(directions: Floats, margins: Floats) -> SpreadShares:
    many, count = directions.shape[0], directions.shape[1] - 1
    y = _scores(np.where(np.isfinite(margins), margins, -np.inf))
    left = y - directions @ (directions.T @ y)
    ratio = float((left**2).sum() / ((y - y.mean()) ** 2).sum())
    share = 1.0 - ratio * (many - 1) / (many - count - 1)
    epistemic = max(share, 0.0)  # never above 1: what is left is a sum of squares
    return SpreadShares(epistemic, 1.0 - epistemic)


def _scores(values: Floats) -> Floats:
    """Normal scores of the ranks, ties sharing theirs."""
    _, which, counts = np.unique(values, return_inverse=True, return_counts=True)
    last = np.cumsum(counts)  # ranks from 1; twice the mean rank of a tie is a whole number
    twice = 2 * last - counts + 1
    scores: Floats = _half_rank_scores(len(values))[twice[which.ravel()]]
    return scores


@lru_cache(maxsize=8)
def _half_rank_scores(count: int) -> Floats:
    """Normal score of (rank - 1/2)/count by twice the rank, (2*count + 1,)."""
    normal = NormalDist()
    scores = [0.0, 0.0] + [
        normal.inv_cdf((0.5 * twice - 0.5) / count) for twice in range(2, 2 * count + 1)
    ]
    return np.array(scores)


def _known(dataset: Dataset) -> _Known:
    plan = dataset.plan()
    names = [f.name for f in plan.schema if _kind(f) == EPISTEMIC]
    options = array_of(plan.column("option"))
    columns = np.empty((len(names), len(options)))
    for row, name in enumerate(names):
        columns[row] = array_of(plan.column(name))
    return _Known(options, columns, {})


def _kind(field: pa.Field) -> bytes:
    metadata: dict[bytes, bytes] = field.metadata or {}
    return metadata.get(b"kind", b"")
