"""Going through the steps of a job."""

from __future__ import annotations

from collections.abc import Iterator

from edgewear.scenario.models.steps import Repeat, Step
from edgewear.scenario.text.tree import Path_

HANGING = (
    "ascend",
    "descend",
    "work",
    "swing",
    "cross edge",
    "pass re-anchor",
    "pass deviation",
    "lower unloaded",
    "shift rope",
    "swap rope",
    "take over",
    "reciprocate",
)
"""Steps that nobody makes without a line of their own; so are `haul` and `lower` of oneself."""


def walk(steps: tuple[Step, ...], path: Path_ = ()) -> Iterator[tuple[Path_, Step]]:
    """Go through all steps, those inside repeats too.

    Parameters:
        steps: of one person.
        path: of their list.
    """
    for index, step in enumerate(steps):
        here = (*path, index, step.step)
        yield here, step
        if isinstance(step, Repeat):
            yield from walk(step.steps, (*here, "steps"))


def hangs(steps: tuple[Step, ...]) -> bool:
    """Tell whether a person needs a line of their own for their steps.

    Parameters:
        steps: of one person.
    """
    return any(
        step.step in HANGING or (step.step in ("haul", "lower") and step.person is None)
        for _, step in walk(steps)
    )
