"""How somebody moves at work in place: as the step says, else as its task, else as usual."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Literal, NamedTuple

from edgewear.scenario.models.base import spelled
from edgewear.scenario.models.scenario import Scenario
from edgewear.scenario.models.steps import Work
from edgewear.scenario.models.walking import walk
from edgewear.scenario.text.quantities import Measured
from edgewear.scenario.text.tree import address

Said = Literal["step", "task", "usual"]

WAYS = ("bounce", "bounce_rate", "sway", "sway_rate", "tool", "duty")
"""What there is to say, by field."""


class Way(NamedTuple):
    """One number of how somebody moves at work, and who says it."""

    field: str
    value: Measured
    said: Said
    address: str
    """Where it is typed or comes from: `job/..., tasks/..., work/...`."""


def way(scenario: Scenario, step: Work, field: str, path: str = "") -> Way:
    """Give one number of a step of work.

    Parameters:
        field: one of `WAYS`.
        path: address of the step.
    """
    word = spelled(field)
    own = getattr(step, field)
    if own is not None:
        return Way(field, own, "step", f"{path}/{word}")
    if step.task is not None:
        value = getattr(scenario.tasks[step.task], field)
        return Way(field, value, "task", f"tasks/{step.task}/{word}")
    return Way(field, getattr(scenario.work, field), "usual", f"work/{word}")


def ways(scenario: Scenario, step: Work, path: str = "") -> dict[str, Way]:
    """Give all numbers of a step of work, by field."""
    return {field: way(scenario, step, field, path) for field in WAYS}


def beats(scenario: Scenario, step: Work) -> bool:
    """Tell whether somebody bounces or works a tool; else the sway sets the pace."""
    return any(way(scenario, step, field).value.value > 0.0 for field in ("bounce", "tool"))


def work_rows(scenario: Scenario) -> list[dict[str, Any]]:
    """List how everybody is taken to move at every step of work, JSON-able, SI.

    `said` tells a number that the step types from one that its task (a word of the library) or
    nothing at all stands for: the latter two are assumed, each with its range and source.
    """
    return list(_rows(scenario))


def _rows(scenario: Scenario) -> Iterator[dict[str, Any]]:
    alone = len(scenario.job) == 1 and len(scenario.people) <= 1
    for person, steps in scenario.job.items():
        for path, step in walk(steps, ("job",) if alone else ("job", person)):
            if not isinstance(step, Work):
                continue
            number = int(path[1 if alone else 2]) + 1
            for found in ways(scenario, step, address(path)).values():
                yield {
                    "person": person,
                    "step": number,
                    "lasts_s": step.for_.value,
                    "task": step.task,
                    "what": spelled(found.field),
                    "value": found.value.value,
                    "low": found.value.low,
                    "high": found.value.high,
                    "unit": found.value.unit,
                    "said": found.said,
                    "address": found.address,
                    "pedigree": found.value.pedigree,
                }


__all__ = ["WAYS", "Way", "beats", "way", "ways", "work_rows"]
