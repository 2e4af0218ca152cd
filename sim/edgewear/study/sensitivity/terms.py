"""The columns of a regression on orthogonal polynomials, made for some rows at a time.

Five hundred columns of a hundred thousand rows are more than a processor's caches hold, and more
than it takes to find their sums: those are added up block by block.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

ROWS_A_TERM = 12
"""Rows wanted for each term of the fit."""

HIGHEST = 8
"""Highest power of a single input."""

HIGHEST_OF_PAIR = 5

PAIRED = 6
"""Inputs whose pairs are looked at: those that do most alone."""

ROWS_AT_ONCE = 2048
"""Rows whose columns are held at once, some megabytes."""


class Sums(NamedTuple):
    """Sums over rows that a least squares fit needs: of squares, with the outcome, of it alone."""

    gram: Floats  # (p, p)
    moment: Floats  # (p,)
    square: float
    rows: int  # of different draws

    def with_more(self, other: Sums, sign: int = 1) -> Sums:
        """Add what other rows come to, or take it away."""
        return Sums(
            self.gram + sign * other.gram,
            self.moment + sign * other.moment,
            self.square + sign * other.square,
            self.rows + sign * other.rows,
        )


class Single(NamedTuple):
    """An input as numbers between -1 and 1, and the means of its polynomials over all rows."""

    uniform: Floats  # (n,)
    means: Floats  # (power,)

    def polynomials(self, rows: slice | NDArray[np.int64]) -> Floats:
        """Legendre polynomials of the first to the highest power, each with its mean out."""
        found: Floats = _legendre(self.uniform[rows], self.means.size) - self.means[:, None]
        return found


class Terms(NamedTuple):
    """What the columns are made of: powers of single inputs, then products of those of two."""

    single: tuple[Single, ...]
    paired: tuple[tuple[int, int, Floats], ...]  # two inputs, (q, q) means of the products
    factors: dict[int, Single]  # of those paired

    @property
    def made_of(self) -> NDArray[np.bool_]:
        """(k, p) which inputs each column is made of."""
        blocks = [({i}, one.means.size) for i, one in enumerate(self.single)]
        blocks += [({a, b}, means.size) for a, b, means in self.paired]
        found = np.zeros((len(self.single), sum(many for _, many in blocks)), bool)
        start = 0
        for of, many in blocks:
            found[sorted(of), start : start + many] = True
            start += many
        return found

    def sums(self, rows: NDArray[np.int64], y: Floats, draws: int) -> Sums:
        """Sums over some rows.

        Parameters:
            rows: their numbers; y: (n,) outcome of all; draws: different ones among them.
        """
        many = self.made_of.shape[1]
        room = np.empty((many, min(rows.size, ROWS_AT_ONCE)))
        found = Sums(np.zeros((many, many)), np.zeros(many), 0.0, draws)
        for first in range(0, rows.size, ROWS_AT_ONCE):
            block = rows[first : first + ROWS_AT_ONCE]
            columns = room[:, : block.size]
            for row, column in zip(columns, self._columns(block), strict=True):
                row[...] = column
            found = found.with_more(sums_of(columns, y[block], 0))
        return found

    def _columns(self, rows: NDArray[np.int64]) -> Iterator[Floats]:
        for one in self.single:
            yield from one.polynomials(rows)
        factors = {i: one.polynomials(rows) for i, one in self.factors.items()}
        for a, b, means in self.paired:
            for of_a, some in zip(factors[a], means, strict=True):
                yield from of_a * factors[b] - some[:, None]


def terms_of(
    uniform: Sequence[Floats], y: Floats, rows: int, alone: Callable[[Sums], float]
) -> Terms:
    """Choose powers of single inputs, and pairs of those that do most alone, as rows allow.

    Parameters:
        uniform: of each input (n,) between -1 and 1.
        y: (n,) outcome.
        rows: different draws.
        alone: says how much of the outcome the polynomials of one input explain.
    """
    count = len(uniform)
    power = int(np.clip(rows // (ROWS_A_TERM * max(count, 1)), 2, HIGHEST))
    single = tuple(_single(u, power) for u in uniform)
    everywhere = slice(None)
    explained = [alone(sums_of(one.polynomials(everywhere), y, rows)) for one in single]
    most = [int(i) for i in np.argsort(-np.array(explained))[:PAIRED]]
    pairs = [(a, b) for at, a in enumerate(most) for b in most[at + 1 :]]
    left = max(rows - power * count, 0)
    highest = int(min(HIGHEST_OF_PAIR, (left / (ROWS_A_TERM * max(len(pairs), 1))) ** 0.5))
    if highest < 1 or not pairs:
        return Terms(single, (), {})
    factors = {i: _single(uniform[i], highest) for i in most}
    known = {i: one.polynomials(everywhere) for i, one in factors.items()}
    paired = tuple((a, b, known[a] @ known[b].T / y.size) for a, b in pairs)
    return Terms(single, paired, factors)


def sums_of(columns: Floats, y: Floats, draws: int) -> Sums:
    """Sums over the rows of columns (p, n) and outcome (n,)."""
    return Sums(columns @ columns.T, columns @ y, float(y @ y), draws)


def _single(u: Floats, power: int) -> Single:
    means: Floats = _legendre(u, power).mean(axis=1)
    return Single(u, means)


def _legendre(u: Floats, power: int) -> Floats:
    """Legendre polynomials of the first to a given power, (power, n)."""
    found: Floats = np.polynomial.legendre.legvander(u, power).T[1:].astype(np.float64, copy=False)
    return found
