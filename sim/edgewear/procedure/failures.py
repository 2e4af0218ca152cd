"""Every single failure at every step, by the geometry of the lines."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import isfinite
from typing import TYPE_CHECKING, Any

from edgewear.study.model import plain

if TYPE_CHECKING:
    from edgewear.engine.run_job import Performance
    from edgewear.scenario.models.scenario import Scenario

Depths = dict[str, dict[int, float]]
"""Person -> step -> the depth at which they hang at its end [m]."""

PLACES_M = 0.1
"""Steps that end within this depth of each other, alike in load and protection, share a row."""


def depths_by_step(done: Performance) -> Depths:
    """Where each person hangs at the end of each step; steps without hanging are left out."""
    found: Depths = {name: {} for name in done.times}
    for entry in done.log:
        if entry.what == "ends" and entry.who in found and isfinite(entry.value):
            found[entry.who][entry.step] = entry.value
    return found


def failures(scenario: Scenario, option: str, depths: Depths) -> list[dict[str, Any]]:
    """One row for each component of each person's lines and each step, JSON-able."""
    rows: list[dict[str, Any]] = []
    for person, by_step in depths.items():
        if person in scenario.options[option].lines and by_step:
            rows += _of(scenario, option, person, by_step)
    return rows


def _of(
    scenario: Scenario, option: str, person: str, by_step: Mapping[int, float]
) -> list[dict[str, Any]]:
    """Each distinct place is laid out once, and holds for all steps that end there."""
    from edgewear.rigging import single_failures
    from edgewear.rigging.findings.standing import standing

    chosen = scenario.options[option]
    places = {
        step: (round(depth_m / PLACES_M), standing(scenario, chosen, person, step))
        for step, depth_m in by_step.items()
    }
    first: dict[Any, int] = {}  # place -> step it is laid out for
    for step, place in places.items():
        first.setdefault(place, step)
    wanted = {step: by_step[step] for step in first.values()}
    laid: dict[int, list[dict[str, Any]]] = {}
    for row in single_failures(scenario, option, person, wanted):
        laid.setdefault(row["step"], []).append(row)
    words = steps_of(scenario)
    return [
        plain({**row, "step": step, "step_words": words.get((person, step), "")})
        for step, place in places.items()
        for row in laid.get(first[place], [])
    ]


def worst_places(rows: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Of every component the step to look at first, the gravest component first.

    Parameters:
        rows: of single failures.
    """
    worst: dict[tuple[str, str], Mapping[str, Any]] = {}
    for row in rows:
        key = row["person"], row["component"]
        if key not in worst or _gravity(row) > _gravity(worst[key]):
            worst[key] = row
    return [dict(row) for row in sorted(worst.values(), key=_gravity, reverse=True)]


def _gravity(row: Mapping[str, Any]) -> tuple[float, ...]:
    """What surely does not hold before what nobody can tell, then what is above its limit.

    Of like peaks the longer drop: a device that slips makes peaks alike.
    """
    fails, doubtful = row["holds"] is False, row["holds"] is not True
    above = len(above_limits(row))
    return fails, doubtful, not row["independent"], above, row["peak_n"] or 0, row["drop_m"] or 0


def above_limits(row: Mapping[str, Any]) -> list[str]:
    """What of a drop and a peak is above its limit, in words.

    Parameters:
        row: of single failures.
    """
    return [text for text in row.get("beyond", ()) if text.startswith(("drop of", "peak of"))]


def carried(scenario: Scenario) -> list[str]:
    """Say from which step on a person hangs on another's lines, where their own rows end."""
    return [
        f"{step.person} hangs on the lines of {person} from step {number} of {person} on: what "
        f"fails there is told under {person}, with the weight of both"
        for person, steps in scenario.job.items()
        for number, step in enumerate(steps, start=1)
        if step.step == "take over"
    ]


def steps_of(scenario: Scenario) -> dict[tuple[str, int], str]:
    """Words of every step by person and number."""
    from edgewear.job.build import words

    return {
        (person, number): words(step)
        for person, steps in scenario.job.items()
        for number, step in enumerate(steps, start=1)
    }
