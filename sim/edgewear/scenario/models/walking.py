"""Going through the steps of a job."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from edgewear.scenario.models.steps import Repeat, Step
from edgewear.scenario.text.tree import Path_


def walk(steps: tuple[Step, ...], path: Path_ = ()) -> Iterator[tuple[Path_, Step]]:
    """Go through all steps with their places: repeats, and what is inside them once."""
    for index, step in enumerate(steps):
        here = (*path, index, step.step)
        yield here, step
        if isinstance(step, Repeat):
            yield from walk(step.steps, (*here, "steps"))


def leaves(steps: Iterable[Step]) -> Iterator[Step]:
    """Go through the steps that are made, those inside a repeat once."""
    for step in steps:
        if isinstance(step, Repeat):
            yield from leaves(step.steps)
        else:
            yield step


def rounds(
    steps: tuple[Step, ...], path: Path_ = (), most: int | None = None
) -> Iterator[tuple[Path_, Step]]:
    """Go through the steps as they are made, every round of a repeat up to `most` of them."""
    for index, step in enumerate(steps):
        here = (*path, index, step.step)
        if not isinstance(step, Repeat):
            yield here, step
            continue
        for _ in range(step.times if most is None else min(step.times, most)):
            yield from rounds(step.steps, (*here, "steps"), most)


def round_of(step: Repeat) -> list[Step]:
    """Return the steps that one round of a repeat makes, one after the other."""
    return [made for _, made in rounds(step.steps)]


def needs_line(steps: tuple[Step, ...]) -> bool:
    """Tell whether a person needs a line of their own for their steps."""
    return any(step.needs_line() for step in leaves(steps))
