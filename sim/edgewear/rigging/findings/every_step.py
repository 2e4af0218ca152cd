"""Every single failure at every step of everybody, each distinct place laid out once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from edgewear.findings.failure import Failure
from edgewear.rigging.findings.failures import single_failures
from edgewear.rigging.findings.standing import Standing, standing
from edgewear.scenario.models.scenario import Scenario

PLACES_M = 0.1
"""Steps that end within this depth of each other, alike in load and protection, share a row."""


def failures_at_every_step(
    scenario: Scenario, option: str, depths: Mapping[str, Mapping[int, float]]
) -> Iterator[Failure]:
    """Return one row for each component of each person's lines and each step.

    Parameters: `depths`: person -> step -> the depth at which they hang at its end [m].
    """
    for person, by_step in depths.items():
        if person in scenario.options[option].lines and by_step:
            yield from _of(scenario, option, person, by_step)


def _of(
    scenario: Scenario, option: str, person: str, by_step: Mapping[int, float]
) -> Iterator[Failure]:
    chosen = scenario.options[option]
    places: dict[int, tuple[int, Standing]] = {
        step: (round(depth_m / PLACES_M), standing(scenario, chosen, person, step))
        for step, depth_m in by_step.items()
    }
    first = {place: step for step, place in reversed(places.items())}  # that it is laid out for
    wanted = {step: by_step[step] for step in places if first[places[step]] == step}
    laid: dict[int, list[Failure]] = {step: [] for step in wanted}
    for row in single_failures(scenario, option, person, wanted):
        laid[row.step].append(row)
    for step, place in places.items():
        yield from (replace(row, step=step) for row in laid[first[place]])
