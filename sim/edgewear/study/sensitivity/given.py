"""Shares of variance from rows that are there already: regression on orthogonal polynomials.

Each input is turned into its rank, so that its distribution does not matter, and the outcome is
fitted by Legendre polynomials of single inputs and by products of two inputs' polynomials (Li,
Rosenthal and Rabitz, J. Phys. Chem. A 105 (2001) 7765, from memory). A share alone is the adjusted
R2 of one input's polynomials; a total share is what the fit loses without every term of an input.
Intervals are those of a jackknife over groups of rows (Efron and Tibshirani 1993, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear.findings.inquiries.what_matters import Share
from edgewear.percentiles import NORMAL_90

Floats = NDArray[np.float64]

ROWS_A_TERM = 12
"""Rows wanted for each term of the fit."""

HIGHEST = 8
"""Highest power of a single input."""

HIGHEST_OF_PAIR = 5

PAIRED = 6
"""Inputs whose pairs are looked at: those that do most alone."""

GROUPS = 20
"""Of rows, for the jackknife."""


class Indices(NamedTuple):
    """Shares of variance of k inputs."""

    alone: tuple[Share, ...]
    total: tuple[Share, ...]
    unexplained: Share


class _Shares(NamedTuple):
    alone: Floats  # (k,)
    total: Floats  # (k,)
    unexplained: float


class _Terms(NamedTuple):
    """Columns of the fit, and which inputs each of them is made of."""

    columns: Floats  # (n, p)
    made_of: NDArray[np.bool_]  # (k, p)


class _Sums(NamedTuple):
    """Sums over rows that a least squares fit needs: of squares, with the outcome, of it alone."""

    gram: Floats  # (p, p)
    moment: Floats  # (p,)
    square: float
    rows: int  # of different draws


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
    terms = _terms(inputs, y, np.unique(draw).size)
    part = draw % GROUPS
    parts = [
        _sums(terms.columns[part == g], y[part == g], np.unique(draw[part == g]).size)
        for g in range(GROUPS)
    ]
    all_rows = _added(parts)
    whole = _shares(terms, all_rows)
    without = [_shares(terms, _less(all_rows, one)) for one in parts]
    unexplained = _with_intervals(
        np.array([whole.unexplained]), [np.array([one.unexplained]) for one in without]
    )[0]
    total = _with_intervals(whole.total, [one.total for one in without])
    return Indices(
        _with_intervals(whole.alone, [one.alone for one in without]),
        tuple(Share(t.value, t.low, min(t.high + unexplained.value, 1.0)) for t in total),
        unexplained,
    )


def enough(inputs: int, rows: int, drawn: int = 0, draws: int | None = None) -> bool:
    """Whether there are rows enough for a fit of second powers of each input.

    Parameters:
        inputs: how many vary; rows: how many there are.
        drawn: how many of the inputs were drawn; draws: how many different draws the rows hold,
            of which both powers of each of them, and the jackknife, take some. None: as many.
    """
    left = rows if draws is None else draws - 2 * drawn
    return rows >= max(4 * inputs, 2 * GROUPS) and left >= GROUPS


def _with_intervals(whole: Floats, without: Sequence[Floats]) -> tuple[Share, ...]:
    spread = np.stack(without)
    error = np.sqrt((GROUPS - 1) / GROUPS * ((spread - spread.mean(axis=0)) ** 2).sum(axis=0))
    half = NORMAL_90 * error
    return tuple(
        Share(float(np.clip(v, 0, 1)), float(np.clip(v - h, 0, 1)), float(np.clip(v + h, 0, 1)))
        for v, h in zip(whole, half, strict=True)
    )


def _terms(inputs: Floats, y: Floats, rows: int) -> _Terms:
    """Polynomials of single inputs, then products of those of two that do most alone."""
    count = len(inputs)
    power = int(np.clip(rows // (ROWS_A_TERM * max(count, 1)), 2, HIGHEST))
    uniform = [mean_ranks(column) for column in inputs]
    single = [_polynomials(u, power) for u in uniform]
    alone = np.array([_explained(_sums(columns, y, rows)) for columns in single])
    blocks = [({i}, columns) for i, columns in enumerate(single)]
    blocks += _pairs(uniform, alone, rows - power * count)
    made_of = np.zeros((count, sum(columns.shape[1] for _, columns in blocks)), bool)
    start = 0
    for of, columns in blocks:
        made_of[sorted(of), start : start + columns.shape[1]] = True
        start += columns.shape[1]
    return _Terms(np.hstack([columns for _, columns in blocks]), made_of)


def mean_ranks(column: Floats) -> Floats:
    """Ranks as numbers between -1 and 1, the same one for equal values."""
    _, which, counts = np.unique(column, return_inverse=True, return_counts=True)
    last = np.cumsum(counts)
    middle = (last - 0.5 * counts) / column.size
    found: Floats = 2.0 * middle[which.ravel()] - 1.0
    return found


def _polynomials(u: Floats, power: int) -> Floats:
    """Legendre polynomials of the first to a given power, (n, power), each with its mean out."""
    terms = np.polynomial.legendre.legvander(u, power)[:, 1:]
    found: Floats = terms - terms.mean(axis=0)
    return found


def _pairs(uniform: Sequence[Floats], alone: Floats, left: int) -> list[tuple[set[int], Floats]]:
    """Products for the pairs of those inputs that do most, as far as rows allow."""
    most = [int(i) for i in np.argsort(-alone)[:PAIRED]]
    pairs = [(a, b) for at, a in enumerate(most) for b in most[at + 1 :]]
    power = int(min(HIGHEST_OF_PAIR, (max(left, 0) / (ROWS_A_TERM * max(len(pairs), 1))) ** 0.5))
    if power < 1:
        return []
    single = {i: _polynomials(uniform[i], power) for i in most}
    found = []
    for a, b in pairs:
        terms = np.einsum("ni,nj->nij", single[a], single[b]).reshape(single[a].shape[0], -1)
        found.append(({a, b}, terms - terms.mean(axis=0)))
    return found


def _sums(columns: Floats, y: Floats, draws: int) -> _Sums:
    return _Sums(columns.T @ columns, columns.T @ y, float(y @ y), draws)


def _added(parts: Sequence[_Sums]) -> _Sums:
    first = parts[0]
    for one in parts[1:]:
        first = _Sums(
            first.gram + one.gram,
            first.moment + one.moment,
            first.square + one.square,
            first.rows + one.rows,
        )
    return first


def _less(whole: _Sums, part: _Sums) -> _Sums:
    return _Sums(
        whole.gram - part.gram,
        whole.moment - part.moment,
        whole.square - part.square,
        whole.rows - part.rows,
    )


def _shares(terms: _Terms, sums: _Sums) -> _Shares:
    made_of = terms.made_of
    of_one = made_of.sum(axis=0) == 1
    alone = [_explained(_only(sums, row & of_one)) for row in made_of]
    inverse: Floats = np.linalg.inv(_kept_apart(sums.gram)).astype(np.float64)
    solved = inverse @ sums.moment
    left = max(sums.square - float(sums.moment @ solved), 0.0)
    whole = _adjusted(left, sums, solved.size)
    total = [whole - _without(row, inverse, solved, left, sums) for row in made_of]
    return _Shares(np.array(alone), np.maximum(np.array(total), 0.0), 1.0 - whole)


def _without(
    row: NDArray[np.bool_], inverse: Floats, solved: Floats, left: float, sums: _Sums
) -> float:
    """Adjusted R2 without some columns: b' [(G^-1)_bb]^-1 b more is left."""
    gone = solved[row]
    more = float(gone @ np.linalg.solve(inverse[np.ix_(row, row)], gone))
    return _adjusted(left + more, sums, solved.size - gone.size)


def _only(sums: _Sums, kept: NDArray[np.bool_]) -> _Sums:
    return _Sums(sums.gram[np.ix_(kept, kept)], sums.moment[kept], sums.square, sums.rows)


def _explained(sums: _Sums) -> float:
    """Adjusted R2 of a least squares fit of all columns."""
    solved = np.linalg.solve(_kept_apart(sums.gram), sums.moment)
    return _adjusted(max(sums.square - float(sums.moment @ solved), 0.0), sums, solved.size)


def _kept_apart(gram: Floats) -> Floats:
    """A hair on the diagonal, so that columns that say the same do no harm."""
    found: Floats = gram + 1e-10 * np.trace(gram) / len(gram) * np.eye(len(gram))
    return found


def _adjusted(left: float, sums: _Sums, columns: int) -> float:
    free = max(sums.rows - columns - 1, 1)
    return 1.0 - left / sums.square * (sums.rows - 1) / free
