"""A fast likelihood in place of the engine's: wear that is a product of powers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from edgewear.programme.learn.target import Floats, Job, Runs
from edgewear.programme.likelihood import log_likelihood_of
from edgewear.programme.model import Event, Figure, Progress


@dataclass
class StandIn:
    """Tests whose wear at a distance d is d*exp(c + a.z + s*own): two numbers shared, one own.

    The first shared number is free: it is applied after a run, as the sheath's energy is.
    """

    slopes: Floats  # (tests, 2)
    scatter: float
    seen: Sequence[Event]
    plays: list[int] = field(default_factory=list)

    @property
    def tests(self) -> int:
        return len(self.seen)

    @property
    def shared(self) -> int:
        return 2

    @property
    def private(self) -> tuple[int, ...]:
        return (1,) * self.tests

    @property
    def free(self) -> np.ndarray:
        return np.array([True, False])

    def play(self, jobs: Sequence[Job]) -> list[Runs]:
        self.plays.append(len(jobs))
        return [
            {"own": self.slopes[j.test, 1] * j.shared[:, 1] + self.scatter * j.private[:, 0]}
            for j in jobs
        ]

    def log_likelihood(self, test: int, runs: Runs, shared: Floats, private: Floats) -> Floats:
        wear = np.exp(self.slopes[test, 0] * shared[:, 0] + runs["own"])
        event = self.seen[test]
        figures = {Figure("demand", at): at.value * wear for at in looks(event)}
        return log_likelihood_of(event, figures)


def looks(event: Event) -> list[Progress]:
    return [one for one in (event.not_by, event.by) if one is not None]


def event(not_by: float | None, by: float | None, spread: float = 0.2) -> Event:
    """Core visible between two distances."""
    ends = [None if one is None else Progress(f"{one} m", one) for one in (not_by, by)]
    return Event("core visible", "demand", 1.0, ends[0], ends[1], spread)


STAGES = (0.25, 0.5, 0.8, 1.25, 2.0, 4.0)
"""Distances at which an invented tester looks; beyond the last one the test ends."""


def invented(seed: int, tests: int) -> tuple[StandIn, Floats]:
    """A programme made from a known truth: its target, and the truth (2,)."""
    chance = np.random.default_rng(seed)
    truth = chance.standard_normal(2)
    slopes = np.stack([np.full(tests, 0.8), chance.uniform(-0.8, 0.8, tests)], axis=1)
    scatter, spread = 0.3, 0.2
    logs = slopes @ truth + scatter * chance.standard_normal(tests)
    breaks = np.exp(spread * chance.standard_normal(tests) - logs)
    seen = []
    for distance in breaks:
        passed = [s for s in STAGES if s < distance]
        later = [s for s in STAGES if s >= distance]
        seen.append(event(passed[-1] if passed else None, later[0] if later else None, spread))
    return StandIn(slopes, scatter, seen), truth


def grid_posterior(target: StandIn, ends: Floats) -> tuple[Floats, Floats]:
    """Marginal posterior densities over a grid of both numbers, own numbers integrated out.

    Gauss-Hermite with 41 nodes over each test's own number; apart from the sampler throughout.
    """
    nodes, weights = np.polynomial.hermite_e.hermegauss(41)
    weights = weights / weights.sum()
    first, second = np.meshgrid(ends, ends, indexing="ij")
    total = -0.5 * (first**2 + second**2)
    flat = np.stack([first.ravel(), second.ravel()], axis=1)
    for t in range(target.tests):
        share = np.zeros(len(flat))
        for node, weight in zip(nodes, weights, strict=True):
            wear = np.exp(flat @ target.slopes[t] + target.scatter * node)
            figures = {Figure("demand", at): at.value * wear for at in looks(target.seen[t])}
            share += weight * np.exp(log_likelihood_of(target.seen[t], figures))
        total += np.log(share).reshape(total.shape)
    density = np.exp(total - total.max())
    return density.sum(axis=1) / density.sum(), density.sum(axis=0) / density.sum()


def quantiles(ends: Floats, mass: Floats, shares: Sequence[float]) -> Floats:
    """Quantiles of a density on a grid, linear between its cells."""
    below = np.cumsum(mass) - 0.5 * mass
    return np.interp(shares, below, ends)
