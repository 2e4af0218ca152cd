"""What a sampler needs to know of a likelihood: what must be run, and what follows from runs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
Runs = Mapping[str, NDArray[np.float64]]
"""What runs of a test came to: name -> (n, ...), a row a particle."""


class Job(NamedTuple):
    """Runs of one test that are wanted."""

    test: int
    shared: Floats  # (n, k) standard normal
    private: Floats  # (n, p) standard normal
    strokes: Whole  # (n,) replicate of the stroke variation


class Target(Protocol):
    """The likelihood of a programme, over a space of standard normals."""

    @property
    def tests(self) -> int:
        """How many tests."""

    @property
    def shared(self) -> int:
        """How many numbers the tests share."""

    @property
    def private(self) -> tuple[int, ...]:
        """How many numbers each test has to itself."""

    @property
    def free(self) -> NDArray[np.bool_]:
        """Shared numbers that need no new runs when they change, (k,)."""

    def play(self, jobs: Sequence[Job]) -> list[Runs]:
        """Run what is wanted; a row's outcome depends on that row alone."""

    def log_likelihood(self, test: int, runs: Runs, shared: Floats, private: Floats) -> Floats:
        """Log likelihood of what was seen in a test, (n,)."""
