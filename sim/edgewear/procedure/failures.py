"""Every single failure at every step, by the geometry of the lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from edgewear.findings.failure import Failure
from edgewear.scenario.models.steps import TakeOver

if TYPE_CHECKING:
    from edgewear.engine.results.depths import Depths
    from edgewear.scenario.models.scenario import Scenario


def failures(scenario: Scenario, option: str, depths: Depths) -> tuple[Failure, ...]:
    """One row for each component of each person's lines and each step, with the step in words."""
    from edgewear.rigging.findings.every_step import failures_at_every_step

    words = steps_of(scenario)
    return tuple(
        replace(row, step_words=words.get((row.person, row.step), ""))
        for row in failures_at_every_step(scenario, option, depths)
    )


def worst_places(rows: Sequence[Failure]) -> tuple[Failure, ...]:
    """Of every component the step to look at first, the gravest component first."""
    worst: dict[tuple[str, str], Failure] = {}
    for row in rows:
        key = row.person, row.component
        if key not in worst or _gravity(row) > _gravity(worst[key]):
            worst[key] = row
    return tuple(sorted(worst.values(), key=_gravity, reverse=True))


def _gravity(row: Failure) -> tuple[float, ...]:
    """What surely does not hold before what nobody can tell, then what is furthest above its limit.

    Of what does not hold the hardest blow: how far a limit is passed says little beside it. Of
    like peaks the longer drop: a device that slips makes peaks alike. All at careful ends.
    """
    fails, doubtful = row.holds is False, row.holds is not True
    beyond = max((one.found / one.most for one in row.above), default=0.0)
    drop_m, peak_n = row.longest_drop_m or 0.0, row.peak_careful_n or 0.0
    return fails, doubtful, row.hits_m_s, not row.independent, beyond, peak_n, drop_m


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
