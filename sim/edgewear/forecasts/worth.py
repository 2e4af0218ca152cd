"""What tests are worth before they are made: how well something would be known after them.

Worlds are draws of all that nobody knows. In each, a candidate test has a *latent* figure: the
logarithm of what it would see if the law held there exactly. What it does see differs by what
differs from rope to rope and by the law's discrepancy, log-normal of a spread of its own for each
test, and is told to a class: between which two looks. A set of tests leaves, of a wanted number t,

    E[ Var(t | classes seen) ],

estimated without a nested loop: the classes that each world j would show are held against all other
worlds i, which count by the likelihood of those classes; the world itself is left out, because it
would agree with itself too well (leave-one-out; after Strong, Oakley and Brennan, Medical Decision
Making 34, 2014, from memory, who also reuse one set of draws).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

from edgewear.percentiles import NORMAL_90

Floats = NDArray[np.float64]

LEAST_WORLDS = 20.0
"""Worlds that must count on average after a test; with fewer the draws cannot tell any more."""


@dataclass(frozen=True)
class Candidate:
    """A test that could be made, as it looks in every world."""

    name: str
    latent: Floats  # (worlds,) logarithm of the figure
    spread: float  # of what is seen around it, of the logarithm
    looks: Floats  # (k,) logarithms of the ends between which classes lie, rising
    cost: float = 1.0

    def likelihood(self) -> Floats:
        """Probability of each class in each world, (classes, worlds)."""
        from scipy.special import ndtr

        ends = np.concatenate([[-inf], self.looks, [inf]])
        share = ndtr((ends[:, None] - self.latent) / self.spread)
        return np.asarray(np.diff(share, axis=0))

    def shown(self, seed: int) -> NDArray[np.int64]:
        """Class that each world shows, with the test's own spread drawn, (worlds,)."""
        from edgewear.engine.draws import quantile, uniforms

        share = uniforms(seed, f"next test/{self.name}", 0, len(self.latent))
        noise = self.spread * quantile("normal", 0.0, -NORMAL_90, NORMAL_90, share)
        return np.searchsorted(self.looks, self.latent + noise)


@dataclass(frozen=True)
class Left:
    """What some tests leave of a wanted number."""

    variance: float  # expected
    low: float  # central 90 % over what may come out
    high: float
    worlds: float  # how many count, on average

    @property
    def told(self) -> bool:
        """Whether the draws are enough to say so."""
        return self.worlds >= LEAST_WORLDS


class Known:
    """What is known of a wanted number in the course of a plan.

    Parameters:
        wanted: (worlds,) the number in each world.
        seed: of the tests' own spreads.
    """

    def __init__(self, wanted: Floats, seed: int) -> None:
        """Begin with nothing known beyond the draws."""
        self.wanted, self.seed = wanted, seed
        count = wanted.size
        self._logs = np.zeros((count, count))  # [shown by, held against]
        np.fill_diagonal(self._logs, -inf)

    def after(self, test: Candidate) -> Left:
        """Say what would be left if this test were made too."""
        return self._left(self._logs + self._told_by(test))

    def make(self, test: Candidate) -> None:
        """Take a test into the plan."""
        self._logs = self._logs + self._told_by(test)

    def now(self) -> Left:
        """Say what is left with the plan as it is."""
        return self._left(self._logs)

    def _told_by(self, test: Candidate) -> Floats:
        """Logarithm of the likelihood, in each world, of what each other one shows."""
        likely = np.log(np.maximum(test.likelihood(), 1e-300))
        return np.asarray(likely[test.shown(self.seed)])

    def _left(self, logs: Floats) -> Left:
        weights = np.exp(logs - logs.max(axis=1, keepdims=True))
        weights /= weights.sum(axis=1, keepdims=True)
        middle = weights @ self.wanted
        square = weights @ self.wanted**2
        counting = 1.0 / (weights**2).sum(axis=1)
        variances = np.maximum(square - middle**2, 0.0) * counting / np.maximum(counting - 1, 1.0)
        low, high = np.quantile(variances, [0.05, 0.95])
        return Left(float(variances.mean()), float(low), float(high), float(counting.mean()))


@dataclass(frozen=True)
class Planned:
    """One test of a plan, and what is left when it and all before it were made."""

    test: Candidate
    left: Left


LEAST_GAIN = 0.01
"""Of what can be known at the start: what tells less is printed as 0 of 100, and is not made."""


def plan(known: Known, candidates: Sequence[Candidate], most: int) -> list[Planned]:
    """Choose tests one after the other: each the one that takes most variance away for its cost.

    It ends where no test takes a hundredth of it away, or the draws cannot tell any more.

    Parameters:
        known: what is wanted; candidates: each is made at most once.
        most: tests.
    """
    found, waiting = list[Planned](), list(candidates)
    least = LEAST_GAIN * known.now().variance
    while waiting and len(found) < most:
        before = known.now().variance
        tried = [(known.after(one), one) for one in waiting]
        telling = [pair for pair in tried if pair[0].told and before - pair[0].variance > least]
        if not telling:
            break
        left, best = max(telling, key=lambda pair: (before - pair[0].variance) / pair[1].cost)
        known.make(best)
        waiting.remove(best)
        found.append(Planned(best, left))
    return found
