"""A surrogate of the likelihood: what runs came to, fitted, so that a chain knows where to go.

What runs of a test came to is smooth in most numbers that a run feels. Each column that the
likelihood looks at, its logarithm where it is positive, is fitted by ridge regression on those
numbers' scores and on products of the few that matter most; the penalty is the one that tells rows
left out best. The true likelihood function is then held against what was fitted, averaged over what
the fit leaves over: stroke variation, and what is no quadratic.

The surrogate decides nothing. Where it is bad, proposals are refused by the engine's runs and
learning takes longer.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear.programme.learn.target import Floats, Job, Runs, Target, Whole

MOST_PRODUCTS = 6
"""Numbers whose products of two are fitted: those that matter most."""

PENALTIES = (0.1, 1.0, 10.0, 100.0)
"""Of ridge regression, to choose from [1]."""

NODES = (0.0, 3.0**0.5, -(3.0**0.5))
"""Of Gauss and Hermite's rule of three, in deviations of what is left over."""

NODE_WEIGHTS = (2 / 3, 1 / 6, 1 / 6)

LOUD = 0.15
"""Deviation of a log likelihood for what a fit leaves over from which a test counts as loud; a test
below it may as well draw its stroke variation anew with every step [1]."""


class Fit(NamedTuple):
    """One test, fitted. Columns are those of its runs, name after name, stage after stage."""

    held: Floats  # (columns,) what a column that is not fitted is held at
    fitted: Whole  # (f,) columns
    logs: NDArray[np.bool_]  # (f,) whether the logarithm is fitted
    top: Whole  # numbers whose products are terms
    factors: Floats  # (terms, f)
    low: Floats  # (f,) least that the fit may say
    high: Floats  # (f,) most
    left: Floats  # (f,) one deviation of what the fit leaves over, along its main direction


class Surrogate:
    """Fits of every test of a target.

    Parameters:
        target: whose runs these are.
        fits: of each test.
        runs: of each test, any, for their names and shapes.
    """

    def __init__(self, target: Target, fits: Sequence[Fit], runs: Sequence[Runs]) -> None:
        """Hold what was fitted."""
        self.target, self.fits = target, fits
        self.shapes = [{name: one.shape[1:] for name, one in some.items()} for some in runs]

    def log_likelihood(self, shared: Floats, private: Sequence[Floats]) -> Floats:
        """Log likelihood of every test, averaged over what its fit leaves over, (n, tests)."""
        weights = np.log(NODE_WEIGHTS)[:, None]
        columns = [
            np.logaddexp.reduce(self._at_nodes(t, shared, private[t]) + weights, axis=0)
            for t in range(self.target.tests)
        ]
        return np.stack(columns, axis=1)

    def loud(self, shared: Floats, private: Sequence[Floats]) -> NDArray[np.bool_]:
        """Tell of each test whether what its fit leaves over matters at these particles."""
        found = []
        for t in range(self.target.tests):
            at = self._at_nodes(t, shared, private[t])
            found.append(np.sqrt(np.mean(((at[1] - at[2]) / (NODES[1] - NODES[2])) ** 2)) > LOUD)
        return np.array(found, np.bool_)

    def _at_nodes(self, t: int, shared: Floats, private: Floats) -> Floats:
        """Log likelihood of a test with each node's share of what is left over, (nodes, n)."""
        fit = self.fits[t]
        mean = _terms(_inputs(self.target, shared, private), fit.top) @ fit.factors
        found = (mean[None] + np.multiply.outer(NODES, fit.left)[:, None]).reshape(
            -1, mean.shape[1]
        )
        found = np.clip(found, fit.low, fit.high)
        found[:, fit.logs] = np.exp(found[:, fit.logs])
        whole = np.tile(fit.held, (len(found), 1))
        whole[:, fit.fitted] = found
        runs = _apart(whole, self.shapes[t])
        often = (len(NODES), 1)
        said = self.target.log_likelihood(t, runs, np.tile(shared, often), np.tile(private, often))
        return said.reshape(len(NODES), -1)


def fitted(target: Target, jobs: Sequence[Job], runs: Sequence[Runs]) -> Surrogate:
    """Fit every test from runs that were made."""
    fits = [_fit(target, job, one) for job, one in zip(jobs, runs, strict=True)]
    return Surrogate(target, fits, runs)


def _fit(target: Target, job: Job, runs: Runs) -> Fit:
    columns, wanted = _columns(runs), _wanted(target, job, runs)
    known = np.isfinite(columns)
    wanted = wanted[known[:, wanted].mean(axis=0) > 0.5]
    whole = known[:, wanted].all(axis=1)
    found = columns[whole][:, wanted]
    counted = (found == np.round(found)).all(axis=0)  # such as which line wore most
    logs = (found > 0.0).all(axis=0) & ~counted
    y = np.where(logs, np.log(np.where(logs, found, 1.0)), found)
    inputs = _inputs(target, job.shared, job.private)[whole]
    top = _top(inputs, y)
    factors, left = _ridge(_terms(inputs, top), y)
    room = np.where(logs, 0.5 * np.ptp(y, axis=0), 0.0)
    held = np.array([_usual(column) for column in columns.T])
    return Fit(held, wanted, logs, top, factors, y.min(axis=0) - room, y.max(axis=0) + room, left)


def _inputs(target: Target, shared: Floats, private: Floats) -> Floats:
    """What a run of a test may feel, (n, numbers)."""
    return np.concatenate([shared[:, ~target.free], private], axis=1)


def _usual(column: Floats) -> float:
    """A value that occurs, about the middle of a column."""
    known = column[np.isfinite(column)]
    return float(np.sort(known)[len(known) // 2]) if len(known) else np.nan


def _wanted(target: Target, job: Job, runs: Runs) -> Whole:
    """Columns that vary and that the log likelihood looks at, found by exchanging rows."""
    before = target.log_likelihood(job.test, runs, job.shared, job.private)
    found, first = [], 0
    for name, values in runs.items():
        width = int(np.prod(values.shape[1:]))
        other = {**runs, name: np.roll(values, 1, axis=0)}
        after = target.log_likelihood(job.test, other, job.shared, job.private)
        if not np.array_equal(before, after):
            found += [first + k for k in range(width)]
        first += width
    return np.array(found, np.int64)


def _columns(runs: Runs) -> Floats:
    return np.concatenate([one.reshape(len(one), -1) for one in runs.values()], axis=1)


def _apart(columns: Floats, shapes: Mapping[str, tuple[int, ...]]) -> Runs:
    """Columns as runs again, (n, ...) each."""
    found, first = {}, 0
    for name, shape in shapes.items():
        width = int(np.prod(shape))
        found[name] = columns[:, first : first + width].reshape(-1, *shape)
        first += width
    return found


def _terms(inputs: Floats, top: Whole) -> Floats:
    """1, each number, and each product of two of the top ones, (n, terms)."""
    one, other = _pairs(len(top))
    some = inputs[:, top]
    return np.concatenate(
        [np.ones((len(inputs), 1)), inputs, some[:, one] * some[:, other]], axis=1
    )


@cache
def _pairs(count: int) -> tuple[Whole, Whole]:
    """Places of each product of two of so many, a square too."""
    return np.triu_indices(count)


def _top(inputs: Floats, y: Floats) -> Whole:
    """The numbers that matter most to any column, by a linear fit."""
    factors, _ = _ridge(_terms(inputs, np.zeros(0, np.int64)), y)
    spread = y.std(axis=0)
    share = np.abs(factors[1:]) / np.where(spread > 0.0, spread, 1.0)
    found: Whole = np.argsort(-share.max(axis=1, initial=0.0), kind="stable")[:MOST_PRODUCTS]
    return found


def _ridge(terms: Floats, y: Floats) -> tuple[Floats, Floats]:
    """Factors (terms, f), and a deviation of what is left over in rows left out (f,)."""
    found = [_penalised(terms, y, penalty) for penalty in PENALTIES]
    factors, off = min(found, key=lambda one: float((one[1] ** 2).sum()))
    _, size, along = np.linalg.svd(off / np.sqrt(len(off)), full_matrices=False)
    return factors, size[0] * along[0] if len(size) else np.zeros(y.shape[1])


def _penalised(terms: Floats, y: Floats, penalty: float) -> tuple[Floats, Floats]:
    """Factors (terms, f), and how far off each row is where it is left out (n, f)."""
    added = penalty * np.eye(terms.shape[1])
    added[0, 0] = 0.0  # the mean is free
    solve = np.linalg.solve(terms.T @ terms + added, terms.T)
    leverage = np.einsum("ij,ji->i", terms, solve)
    factors = solve @ y
    return factors, (y - terms @ factors) / np.maximum(1.0 - leverage, 0.05)[:, None]
