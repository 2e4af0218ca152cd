"""Whether a sample of the posterior may be used: agreement, what is determined, what is odd."""

from __future__ import annotations

from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from edgewear.findings.learning.learned import Interval, Number, Standing, Tested
from edgewear.programme.latent import Layout
from edgewear.programme.learn.engine_target import EngineTarget
from edgewear.programme.learn.passes import (
    APART,
    SETTLED,
    agreement,
    error_over_width,
    outward,
)
from edgewear.programme.learn.state import Sampled
from edgewear.programme.learn.target import Job
from edgewear.programme.model import Programme
from edgewear.programme.tails import tails

Floats = NDArray[np.float64]

WIDE = 0.85
"""Spread left, on the scale of the belief, above which the tests have told nothing; assumed."""

ODD = 0.01
"""Chance below which what was seen contradicts what the other tests say; assumed."""


def numbers(programme: Programme, layout: Layout, sampled: Sampled) -> tuple[Number, ...]:
    """Give every asked number before and after, its ends outward by their error."""
    values = layout.asked_values(sampled.shared)
    ends = layout.asked_values(_outward(layout, sampled))
    found = []
    for k, name in enumerate(layout.asked):
        belief, z = programme.asked[name], sampled.shared[:, k]
        left = float(z.std(ddof=1))
        middle = float(np.median(values[name]))
        low, high = (float(v) for v in ends[name])
        found.append(
            Number(
                name, belief.unit, belief.distribution,
                Interval(belief.value, belief.low, belief.high), Interval(middle, low, high),
                left, agreement(z, sampled.populations),
                error_over_width(z, sampled.populations), left < WIDE,
            )
        )  # fmt: skip
    return tuple(found)


def _outward(layout: Layout, sampled: Sampled) -> Floats:
    """Give the ends of every asked number's interval, outward by their error, (2, asked)."""
    columns = sampled.shared[:, : len(layout.asked)].T
    return np.stack([outward(one, sampled.populations) for one in columns], axis=1)


def correlations(layout: Layout, sampled: Sampled) -> dict[str, dict[str, float]]:
    """Give the correlations of the asked numbers' scores with each other."""
    found: dict[str, dict[str, float]] = {name: {} for name in layout.asked}
    for one, other in combinations(range(len(layout.asked)), 2):
        value = np.corrcoef(sampled.shared[:, one], sampled.shared[:, other])[0, 1]
        found[layout.asked[other]][layout.asked[one]] = float(np.nan_to_num(value))
    return found


def tested(target: EngineTarget, sampled: Sampled, seed: int) -> tuple[Tested, ...]:
    """Hold every outcome against what all tests together predict for a rope of its own.

    What a test has to itself is drawn anew, so that it cannot explain its own outcome away.
    """
    from edgewear.programme.learn.sampler import fresh

    jobs = []
    once = sampled.last()  # a further look at the same particle would tell little
    for t in range(target.tests):
        private, strokes = fresh(seed, t, len(once), target.private[t])
        jobs.append(Job(t, once, private, strokes))
    found = []
    for job, runs in zip(jobs, target.play(jobs), strict=True):
        test = target.programme.tests[job.test]
        figures = target.figures(job.test, test, runs, job.shared, job.private)
        for outcome in test.seen:
            early, late = tails(outcome, figures)
            agrees = min(early, late) >= ODD
            found.append(Tested(test.name, test.line, outcome.word, early, late, agrees))
    return tuple(found)


def standing(
    asked: tuple[Number, ...], outcomes: tuple[Tested, ...], provisional: bool = False
) -> Standing:
    """Say what can be said: odd tests first, then what nobody can know from these.

    Parameters:
        provisional: whether one pass was asked for, whatever the error of its ends.
    """
    if not all(one.agrees for one in outcomes):
        return Standing.CONTRADICTED
    if any(one.agreement > APART for one in asked):
        return Standing.UNSETTLED
    if not all(one.determined for one in asked):
        return Standing.UNDETERMINED
    if provisional:
        return Standing.PROVISIONAL
    known = all(one.ends_error <= SETTLED for one in asked)
    return Standing.LEARNED if known else Standing.UNSETTLED
