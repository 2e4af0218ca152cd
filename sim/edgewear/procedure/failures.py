"""Every single failure at every step, by the geometry of the lines."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from math import isfinite
from typing import TYPE_CHECKING

from edgewear.findings.failure import Failure
from edgewear.scenario.models.steps import TakeOver

if TYPE_CHECKING:
    from edgewear.engine.run_job import Performance
    from edgewear.rigging.findings.standing import Standing
    from edgewear.scenario.models.scenario import Scenario

Depths = dict[str, dict[int, float]]
"""Person -> step -> the depth at which they hang at its end [m]."""

PLACES_M = 0.1
"""Steps that end within this depth of each other, alike in load and protection, share a row."""


def depths_by_step(done: Performance) -> Depths:
    """Where each person hangs at the end of each step; steps without hanging are left out."""
    from edgewear.job.log import Kind

    found: Depths = {name: {} for name in done.times}
    for entry in done.log:
        if entry.kind is Kind.ENDS and entry.who in found and isfinite(entry.value):
            found[entry.who][entry.step] = entry.value
    return found


def failures(scenario: Scenario, option: str, depths: Depths) -> tuple[Failure, ...]:
    """One row for each component of each person's lines and each step."""
    return tuple(
        row
        for person, by_step in depths.items()
        if person in scenario.options[option].lines and by_step
        for row in _of(scenario, option, person, by_step)
    )


def _of(
    scenario: Scenario, option: str, person: str, by_step: Mapping[int, float]
) -> Iterator[Failure]:
    """Each distinct place is laid out once, and holds for all steps that end there."""
    from edgewear.rigging import single_failures, standing

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
    words = steps_of(scenario)
    for step, place in places.items():
        for row in laid[first[place]]:
            yield replace(row, step=step, step_words=words.get((person, step), ""))


def worst_places(rows: Sequence[Failure]) -> tuple[Failure, ...]:
    """Of every component the step to look at first, the gravest component first."""
    worst: dict[tuple[str, str], Failure] = {}
    for row in rows:
        key = row.person, row.component
        if key not in worst or _gravity(row) > _gravity(worst[key]):
            worst[key] = row
    return tuple(sorted(worst.values(), key=_gravity, reverse=True))


def _gravity(row: Failure) -> tuple[float, ...]:
    """What surely does not hold before what nobody can tell, then what is above its limit.

    Of like peaks the longer drop: a device that slips makes peaks alike.
    """
    fails, doubtful, above = row.holds is False, row.holds is not True, len(row.above)
    return fails, doubtful, not row.independent, above, row.peak_n or 0, row.drop_m or 0


def carried(scenario: Scenario) -> tuple[str, ...]:
    """Say from which step on a person hangs on another's lines, where their own rows end."""
    return tuple(
        f"{step.person} hangs on the lines of {person} from step {number} of {person} on: what "
        f"fails there is told under {person}, with the weight of both"
        for person, steps in scenario.job.items()
        for number, step in enumerate(steps, start=1)
        if isinstance(step, TakeOver)
    )


def steps_of(scenario: Scenario) -> dict[tuple[str, int], str]:
    """Words of every step by person and number."""
    from edgewear.job.build import words

    return {
        (person, number): words(step)
        for person, steps in scenario.job.items()
        for number, step in enumerate(steps, start=1)
    }
