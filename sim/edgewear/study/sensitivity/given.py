"""Shares of variance from rows that are there already: regression on orthogonal polynomials.

Each input is turned into its rank, so that its distribution does not matter, and the outcome is
fitted by Legendre polynomials of single inputs and by products of two inputs' polynomials (Li,
Rosenthal and Rabitz, J. Phys. Chem. A 105 (2001) 7765, from memory). A share alone is the adjusted
R2 of one input's polynomials; a total share is what the fit loses without every term of an input.
Intervals are those of a jackknife over groups of rows (Efron and Tibshirani 1993, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import reduce
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear.findings.inquiries.what_matters import Share
from edgewear.percentiles import NORMAL_90
from edgewear.study.sensitivity.terms import Sums, terms_of

Floats = NDArray[np.float64]

GROUPS = 20
"""Of rows, for the jackknife."""


class Indices(NamedTuple):
    """Shares of variance of k inputs."""

    alone: tuple[Share, ...]
    total: tuple[Share, ...]
    unexplained: Share | None  # None: not asked


class _Shares(NamedTuple):
    alone: Floats  # (k,)
    total: Floats  # (k,)
    unexplained: float


def indices(inputs: Floats, outcome: Floats, draws: NDArray[np.int64] | None = None) -> Indices:
    """Estimate shares of variance from rows.

    Parameters:
        inputs: (k, n) values, each varying.
        outcome: (n,) finite.
        draws: (n,) which draw each row has, from 0 on; left out, each has one of its own. A sample
            that is played at every point of a grid tells of what was drawn no more than once.

    Returns:
        Shares with 90 % intervals; those of an outcome that does not vary are zero. What the fit
        leaves unexplained may belong to any input's total share and widens it upward.
    """
    y = outcome - outcome.mean()
    if not (y != 0.0).any():
        nothing = Share(0.0, 0.0, 0.0)
        return Indices((nothing,) * len(inputs), (nothing,) * len(inputs), nothing)
    draw = np.arange(y.size) if draws is None else draws
    uniform = [mean_ranks(column) for column in inputs]
    terms = terms_of(uniform, y, np.unique(draw).size, _explained)
    groups = [np.flatnonzero(draw % GROUPS == g) for g in range(GROUPS)]
    parts = [terms.sums(rows, y, np.unique(draw[rows]).size) for rows in groups]
    all_rows = reduce(Sums.with_more, parts)
    whole = _shares(terms.made_of, all_rows)
    without = [_shares(terms.made_of, all_rows.with_more(one, -1)) for one in parts]
    unexplained = _with_intervals(
        np.array([whole.unexplained]), [np.array([one.unexplained]) for one in without]
    )[0]
    total = _with_intervals(whole.total, [one.total for one in without])
    return Indices(
        _with_intervals(whole.alone, [one.alone for one in without]),
        tuple(Share(t.value, t.low, min(t.high + unexplained.value, 1.0)) for t in total),
        unexplained,
    )


def due(inputs: int, drawn: int = 0) -> tuple[int, int]:
    """Give the fewest rows, and different draws, for a fit of second powers of each input.

    Parameters:
        inputs: how many vary.
        drawn: how many of them were drawn; both powers of each take a draw, and the jackknife some.
    """
    return max(4 * inputs, 2 * GROUPS), 2 * drawn + GROUPS


def _with_intervals(whole: Floats, without: Sequence[Floats]) -> tuple[Share, ...]:
    spread = np.stack(without)
    error = np.sqrt((GROUPS - 1) / GROUPS * ((spread - spread.mean(axis=0)) ** 2).sum(axis=0))
    half = NORMAL_90 * error
    return tuple(
        Share(float(np.clip(v, 0, 1)), float(np.clip(v - h, 0, 1)), float(np.clip(v + h, 0, 1)))
        for v, h in zip(whole, half, strict=True)
    )


def mean_ranks(column: Floats) -> Floats:
    """Ranks as numbers between -1 and 1, the same one for equal values."""
    _, which, counts = np.unique(column, return_inverse=True, return_counts=True)
    last = np.cumsum(counts)
    middle = (last - 0.5 * counts) / column.size
    found: Floats = 2.0 * middle[which.ravel()] - 1.0
    return found


def _shares(made_of: NDArray[np.bool_], sums: Sums) -> _Shares:
    """Shares of inputs by the columns (k, p) that are made of them."""
    of_one = made_of.sum(axis=0) == 1
    alone = [_explained(_only(sums, row & of_one)) for row in made_of]
    inverse: Floats = np.linalg.inv(_kept_apart(sums.gram)).astype(np.float64)
    solved = inverse @ sums.moment
    left = max(sums.square - float(sums.moment @ solved), 0.0)
    whole = _adjusted(left, sums, solved.size)
    total = [whole - _without(row, inverse, solved, left, sums) for row in made_of]
    return _Shares(np.array(alone), np.maximum(np.array(total), 0.0), 1.0 - whole)


def _without(
    row: NDArray[np.bool_], inverse: Floats, solved: Floats, left: float, sums: Sums
) -> float:
    """Adjusted R2 without some columns: b' [(G^-1)_bb]^-1 b more is left."""
    gone = solved[row]
    more = float(gone @ np.linalg.solve(inverse[np.ix_(row, row)], gone))
    return _adjusted(left + more, sums, solved.size - gone.size)


def _only(sums: Sums, kept: NDArray[np.bool_]) -> Sums:
    return Sums(sums.gram[np.ix_(kept, kept)], sums.moment[kept], sums.square, sums.rows)


def _explained(sums: Sums) -> float:
    """Adjusted R2 of a least squares fit of all columns."""
    solved = np.linalg.solve(_kept_apart(sums.gram), sums.moment)
    return _adjusted(max(sums.square - float(sums.moment @ solved), 0.0), sums, solved.size)


def _kept_apart(gram: Floats) -> Floats:
    """A hair on the diagonal, so that columns that say the same do no harm."""
    found: Floats = gram + 1e-10 * np.trace(gram) / len(gram) * np.eye(len(gram))
    return found


def _adjusted(left: float, sums: Sums, columns: int) -> float:
    free = max(sums.rows - columns - 1, 1)
    return 1.0 - left / sums.square * (sums.rows - 1) / free
