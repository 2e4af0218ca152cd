"""A stand-in whose runs no quadratic tells: stroke variation, and a wave in what they feel."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from edgewear.programme.learn.sampler import STROKES
from edgewear.programme.learn.target import Floats, Job, Runs
from edgewear.programme.likelihood import log_likelihood_of
from edgewear.programme.model import Figure
from support.stand_in import StandIn, looks

ROUGH = 0.2
"""Deviation of log wear from stroke variation, which is drawn by its replicate."""

WAVE = 0.25
"""Of the second number, beside itself: slope from a quarter to nearly twice of what it would be."""


@dataclass
class RoughStandIn(StandIn):
    """Wear d*exp(a*z_0 + b*(z_1 + WAVE*sin(3*z_1)) + s*own + ROUGH*stroke) at a distance d."""

    def play(self, jobs: Sequence[Job]) -> list[Runs]:
        self.plays.append(len(jobs))
        return [{"own": self._worn(job)} for job in jobs]

    def _worn(self, job: Job) -> Floats:
        stroke = ROUGH * ndtri((job.strokes + 0.5) / STROKES)
        found: Floats = self.slopes[job.test, 1] * waved(job.shared[:, 1])
        return found + self.scatter * job.private[:, 0] + stroke


def waved(second: Floats) -> Floats:
    """What runs feel of the second number."""
    found: Floats = second + WAVE * np.sin(3.0 * second)
    return found


def rough(plain: StandIn) -> RoughStandIn:
    """The same tests, with the same things seen, of a rough kind."""
    return RoughStandIn(plain.slopes, plain.scatter, plain.seen)


def fine_posterior(target: StandIn, ends: Floats) -> tuple[Floats, Floats]:
    """Marginal posterior densities over a fine grid of both numbers, apart from the sampler.

    What a test has to itself, stroke variation included, is normal: Gauss-Hermite with 31 nodes,
    tabulated over the one sum that a test's wear depends on.
    """
    is_rough = isinstance(target, RoughStandIn)
    spread = np.hypot(target.scatter, ROUGH) if is_rough else target.scatter
    nodes, weights = np.polynomial.hermite_e.hermegauss(31)
    first, second = np.meshgrid(ends, ends, indexing="ij")
    total = -0.5 * (first**2 + second**2)
    felt = waved(second) if is_rough else second
    for slopes, event in zip(target.slopes, target.seen, strict=True):
        at = slopes[0] * first + slopes[1] * felt
        table = np.linspace(at.min(), at.max(), 2001)
        share = np.zeros(len(table))
        for node, weight in zip(nodes, weights / weights.sum(), strict=True):
            wear = np.exp(table + spread * node)
            figures = {Figure("demand", one): one.value * wear for one in looks(event)}
            share += weight * np.exp(log_likelihood_of(event, figures))
        total += np.interp(at, table, np.log(share))
    density = np.exp(total - total.max())
    return density.sum(axis=1) / density.sum(), density.sum(axis=0) / density.sum()
