"""Where a sampler is, and the sample it leaves: plain arrays."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear.programme.learn.surrogate import Fit
from edgewear.programme.learn.target import Floats, Runs, Whole

POPULATIONS = 4
"""Groups of particles that are drawn anew apart from each other."""


class Guide(NamedTuple):
    """What guides the steps of a sampler; frozen before the first particle is weighed."""

    fits: Sequence[Fit]  # of each test
    middle: Floats  # (k,) of the surrogate's posterior
    factor: Floats  # (k, k) of its covariance
    loud: NDArray[np.bool_]  # (tests,) whether the surrogate leaves much over


@dataclass
class State:
    """Where a sampler is: all that it needs to go on.

    Runs and likelihoods are part of it: made again among other rows, a processor's vectors may give
    another last bit, and the sample would no longer be the same.
    """

    shared: Floats  # (n, k)
    private: list[Floats]  # of each test (n, p)
    strokes: list[Whole]  # of each test (n,)
    powers: Floats  # (tests,) of each test's likelihood
    runs: list[Runs]  # of each test
    found: Floats  # log likelihood (n, tests)
    lent: Floats  # the surrogate's (n, tests)
    guide: Guide
    log_evidence: Floats  # (phases, populations)
    steps: int  # along the surrogate, a proposal
    rounds: int = 0  # moves made so far
    effective: list[float] = field(default_factory=list)  # particles at each power
    last: int = 0  # rounds made at the full power
    held: list[Floats] = field(default_factory=list)  # shared (n, k) after each of those rounds
    held_likelihood: list[Floats] = field(default_factory=list)  # (n, tests) of each


@dataclass(frozen=True)
class Sampled:
    """A sample of the posterior, population after population."""

    shared: Floats  # (n, k) standard normal
    log_likelihood: Floats  # (n, tests)
    log_evidence: Floats  # (phases, populations)
    effective: tuple[float, ...]
    populations: int
    powers: int  # how many the way had
    passes: int = 1  # samplers whose particles these are
    rounds: int = 1  # after which each particle was looked at

    def last(self) -> Floats:
        """Give the shared numbers after the last round alone, (n/rounds, k)."""
        columns = self.shared.shape[1]
        apart = self.shared.reshape(self.populations, self.rounds, -1, columns)
        return apart[:, -1].reshape(-1, columns)


def pooled(parts: Sequence[Sampled]) -> Sampled:
    """Give the particles of passes that know nothing of each other as one sample."""
    return Sampled(
        shared=np.concatenate([one.shared for one in parts]),
        log_likelihood=np.concatenate([one.log_likelihood for one in parts]),
        log_evidence=np.concatenate([one.log_evidence for one in parts], axis=1),
        effective=tuple(e for one in parts for e in one.effective),
        populations=sum(one.populations for one in parts),
        powers=max(one.powers for one in parts),
        passes=len(parts),
        rounds=parts[0].rounds,
    )
