"""Many cycles from few: wear that grows alike in each, where a run of all of them agrees."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from edgewear.programme.model import Progress, RopeTest
from edgewear.programme.plays import Stage, nominal_exposure, stages_of

Floats = NDArray[np.float64]

FEW = (2, 4)
"""Cycles that are run in place of more."""

AGREES = 0.005
"""Relative difference from a run of all cycles up to which few may stand for them [1]."""

WEAR_ALONE = ("demand", "parting", "strength lost", "core lost", "anchor peak")
"""Figures that follow from exposure and largest tension; others need all cycles."""


@dataclass(frozen=True)
class Course:
    """The stages of a test, and which runs tell their exposure."""

    stages: tuple[Progress | None, ...]
    """As the outcomes ask for them."""
    run: tuple[Stage, ...]
    """What is run: each stage, or the few cycles that stand for all."""
    off: float | None
    """Largest relative difference that the few cycles were found to make; None: not used."""

    def exposures(self, found: Floats) -> Floats:
        """Give the exposure at each stage (n, stages) [J/m].

        Parameters:
            found: (n, runs) of what was run.
        """
        if self.off is None:
            return found
        return grown(found, self.stages)

    def peaks(self, found: Floats) -> Floats:
        """Give the largest tension by each stage (n, stages), from that of what was run."""
        return found if self.off is None else np.repeat(found[:, -1:], len(self.stages), axis=1)


def grown(found: Floats, stages: Sequence[Progress | None]) -> Floats:
    """Carry exposures on at the pace of the later cycles: X = X_b + (n - b)*(X_b - X_a)/(b - a)."""
    first, last = FEW
    pace = (found[:, 1] - found[:, 0]) / (last - first)
    counts = np.array([0.0 if one is None else one.value for one in stages])
    carried: Floats = found[:, 1:] + pace[:, None] * (counts - last)
    return carried


def course_of(test: RopeTest) -> Course:
    """Compile a test's stages; few cycles stand for many where a run of all agrees.

    Raises:
        ScenarioError: it cannot be rigged.
        RunFailed: a run that cannot be computed.
    """
    stages = test.stages()
    if not _counted(test, stages):
        return Course(stages, stages_of(test), None)
    most = max(one.value for one in stages if one is not None)
    few = stages_of(test, [Progress(str(n), float(n)) for n in FEW])
    whole = Progress(str(int(most)), most)
    full = nominal_exposure(stages_of(test, [whole])[0])
    short = np.array([[nominal_exposure(one) for one in few]])
    off = abs(float(grown(short, [whole])[0, 0]) / full - 1.0) if full > 0.0 else 0.0
    if off > AGREES:
        return Course(stages, stages_of(test), None)
    return Course(stages, few, off)


def _counted(test: RopeTest, stages: Sequence[Progress | None]) -> bool:
    """Tell whether what grows is a count of many, and only wear is asked for."""
    typed = [one.typed for one in stages if one is not None]
    if len(typed) < len(stages) or not all(t.isascii() and t.isdigit() for t in typed):
        return False
    whole = all(figure.what in WEAR_ALONE for figure in test.figures())
    return whole and max(map(int, typed)) > 2 * FEW[-1]
