"""Steps that need no run: along a surrogate's posterior, as many as it takes to get away.

Each step leaves the tempered posterior of the surrogate as it is and is as likely to be gone back:
by the toss of a coin either all shared numbers move, by a Crank-Nicolson step about a normal, or
what each test has to itself does, test by test. Many of them are therefore one proposal whose way
back is known: it is accepted by how much the true likelihood gained over the surrogate's (Liu 2001,
the surrogate transition method; Christen and Fox 2005; both from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from edgewear.programme.learn.anew import drawn_anew
from edgewear.programme.learn.state import POPULATIONS
from edgewear.programme.learn.surrogate import Surrogate
from edgewear.programme.learn.target import Floats, Whole

STRIDES = (0.2, 0.5, 0.9)
"""Lengths of a step, to draw from."""

SWEEPS, AT_ONCE = 3, 4
"""Moves of each half of the particles at a power of the surrogate's likelihood, and their steps."""


class Place(NamedTuple):
    """Where particles are, and what the surrogate says of it."""

    shared: Floats  # (n, k) standard normal
    private: list[Floats]  # of each test (n, p)
    lent: Floats  # (n, tests) log likelihood of the surrogate

    def rows(self, rows: Whole | slice) -> Place:
        """Give some of the particles."""
        return Place(self.shared[rows], [one[rows] for one in self.private], self.lent[rows])


class Normal(NamedTuple):
    """A normal about which shared numbers move."""

    middle: Floats  # (k,)
    factor: Floats  # (k, k) of its covariance

    def log_density(self, shared: Floats) -> Floats:
        """Log density but for a constant, (n,)."""
        scaled = np.linalg.solve(self.factor, (shared - self.middle).T)
        found: Floats = -0.5 * (scaled**2).sum(axis=0)
        return found


def normal_of(particles: Floats) -> Normal:
    """Mean and covariance, drawn towards the prior's where particles are few."""
    count, numbers = particles.shape
    few = numbers / (numbers + count)
    covariance = (1.0 - few) * np.atleast_2d(np.cov(particles.T)) + few * np.eye(numbers)
    return Normal(particles.mean(axis=0), np.linalg.cholesky(covariance))


def wander(
    surrogate: Surrogate,
    place: Place,
    powers: Floats,
    normal: Normal,
    steps: int,
    drawn: np.random.Generator,
) -> Place:
    """Go so many steps along the surrogate's posterior.

    Parameters:
        powers: (tests,) of the surrogate's likelihood.
        normal: about which the shared numbers move; must know nothing of these particles.
    """
    for _ in range(steps):
        stride = float(drawn.choice(STRIDES))
        if drawn.random() < 0.5:
            place = _shared_step(surrogate, place, powers, normal, stride, drawn)
        else:
            place = _private_step(surrogate, place, powers, stride, drawn)
    return place


def own_steps(
    surrogate: Surrogate, place: Place, powers: Floats, steps: int, drawn: np.random.Generator
) -> Place:
    """Go so many steps with what each test has to itself alone."""
    for _ in range(steps):
        place = _private_step(surrogate, place, powers, float(drawn.choice(STRIDES)), drawn)
    return place


def _shared_step(
    surrogate: Surrogate, place: Place, powers: Floats, normal: Normal, stride: float,
    drawn: np.random.Generator,
) -> Place:  # fmt: skip
    here = place.shared
    noise = drawn.standard_normal(here.shape) @ normal.factor.T
    there = normal.middle + np.sqrt(1.0 - stride**2) * (here - normal.middle) + stride * noise
    lent = surrogate.log_likelihood(there, place.private)
    gain = (lent - place.lent) @ powers
    gain += 0.5 * ((here**2).sum(axis=1) - (there**2).sum(axis=1))
    gain += normal.log_density(here) - normal.log_density(there)
    taken = (np.log(drawn.random(len(gain))) < gain)[:, None]
    return Place(np.where(taken, there, here), place.private, np.where(taken, lent, place.lent))


def _private_step(
    surrogate: Surrogate, place: Place, powers: Floats, stride: float, drawn: np.random.Generator
) -> Place:
    there = [
        np.sqrt(1.0 - stride**2) * one + stride * drawn.standard_normal(one.shape)
        for one in place.private
    ]
    lent = surrogate.log_likelihood(place.shared, there)
    gain = (lent - place.lent) * powers
    taken = np.log(drawn.random(gain.shape)) < gain
    private = [
        np.where(taken[:, t, None], new, old)
        for t, (new, old) in enumerate(zip(there, place.private, strict=True))
    ]
    return Place(place.shared, private, np.where(taken, lent, place.lent))


def surrogate_sample(
    surrogate: Surrogate, count: int, tests: Sequence[int], drawn: np.random.Generator
) -> tuple[Place, Floats]:
    """Go from the prior to the surrogate's posterior of some tests, by powers of its likelihood.

    Returns: where particles are, population after population, and the log evidence (populations,).
    """
    target = surrogate.target
    shared = drawn.standard_normal((count, target.shared))
    private = [drawn.standard_normal((count, p)) for p in target.private]
    place = Place(shared, private, surrogate.log_likelihood(shared, private))
    powers, evidence = np.zeros(target.tests), np.zeros(POPULATIONS)
    while powers[tests[0]] < 1.0:
        own = place.lent[:, tests].sum(axis=1)
        rise, kept, gained = drawn_anew(own, 1.0 - float(powers[tests[0]]), drawn.random())
        powers[tests] = min(1.0, powers[tests[0]] + rise)
        evidence += gained
        place = place.rows(kept)
        for _ in range(SWEEPS):
            place = _by_halves(surrogate, place, powers, drawn)
    return place, evidence


def _by_halves(
    surrogate: Surrogate, place: Place, powers: Floats, drawn: np.random.Generator
) -> Place:
    """Move each half of the particles about the normal of the other."""
    first, second = slice(0, len(place.shared) // 2), slice(len(place.shared) // 2, None)
    one, other = place.rows(first), place.rows(second)
    one = wander(surrogate, one, powers, normal_of(other.shared), AT_ONCE, drawn)
    other = wander(surrogate, other, powers, normal_of(one.shared), AT_ONCE, drawn)
    private = [np.concatenate(both) for both in zip(one.private, other.private, strict=True)]
    return Place(
        np.concatenate([one.shared, other.shared]), private, np.concatenate([one.lent, other.lent])
    )
