"""Every single failure at every step of everybody, each distinct place laid out once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from math import isfinite

from edgewear.findings.failure import Failure
from edgewear.rigging.findings.failures import failures_at
from edgewear.rigging.findings.standing import Place, Standing, standing
from edgewear.scenario.models.scenario import Scenario
from edgewear.scenario.models.steps import Repeat
from edgewear.scenario.models.walking import round_of

PLACES_M = 0.1
"""Steps that end within this depth of each other, alike in load and protection, share a row."""


def failures_at_every_step(
    scenario: Scenario, option: str, depths: Mapping[str, Mapping[int, Sequence[float]]]
) -> Iterator[Failure]:
    """Return one row for each component of each person's lines and each step.

    A repeat has one for each place in it that differs in depth, load or protection.

    Parameters: `depths`: person -> step -> the depth at which they hang at its end [m]; of a repeat
    at the end of each step inside it.
    """
    for person, by_step in depths.items():
        if person in scenario.options[option].lines and by_step:
            yield from _of(scenario, option, person, by_step)


def _of(
    scenario: Scenario, option: str, person: str, by_step: Mapping[int, Sequence[float]]
) -> Iterator[Failure]:
    chosen = scenario.options[option]
    alike: dict[Place, tuple[int, Standing]] = {
        place: (
            round(place.depth_m / PLACES_M),
            standing(scenario, chosen, person, place.step, place.made),
        )
        for place in places(scenario, person, by_step)
    }
    first = {key: place for place, key in reversed(alike.items())}  # that it is laid out for
    wanted = [place for place, key in alike.items() if first[key] is place]
    rows = failures_at(scenario, option, person, wanted)
    laid = {alike[place]: found for place, found in zip(wanted, rows, strict=True)}
    told = dict.fromkeys((place.step, key) for place, key in alike.items())
    for step, key in told:
        yield from (replace(row, step=step) for row in laid[key])


def places(
    scenario: Scenario, person: str, by_step: Mapping[int, Sequence[float]]
) -> Iterator[Place]:
    """Give where somebody hangs, step by step; of a repeat each place that may differ, once.

    From the second round on each round finds what the one before it left.
    """
    steps = scenario.job.get(person, ())
    known = set()
    for step, depths in by_step.items():
        what = steps[step - 1] if 0 < step <= len(steps) else None
        count = len(round_of(what)) if isinstance(what, Repeat) else 0
        for number, depth_m in enumerate(depths, start=1):
            made = number if number <= count else count + (number - 1) % count + 1 if count else 0
            key = step, round(depth_m / PLACES_M) if isfinite(depth_m) else None, made
            if key[1] is not None and key not in known:
                known.add(key)
                yield Place(step, depth_m, made)
