"""Where the tape tells the nominal depths, they are those of a run in which ropes may part."""

from __future__ import annotations

import pytest

from edgewear.case import compile_case
from edgewear.engine.results.depths import depths_by_step
from edgewear.engine.run_job import perform, ropes_lasted
from edgewear.findings.failure import doubts_of
from edgewear.rigging.findings.every_step import failures_at_every_step
from edgewear.scenario import load_text
from edgewear.study.model import ScenarioModel
from support.boards import SMALL

LASTS = {1: True, 12: False}
"""Times that the rope is climbed over the bare arris, and whether it lasts."""


def text(climbed: int) -> str:
    climbs = "  - ascend: 20 m\n  - descend: 20 m\n" * climbed
    return SMALL.replace("  - descend: 4 m\n  - ascend: 2 m\n", f"  - descend: 24 m\n{climbs}")


@pytest.mark.parametrize("climbed", LASTS)
@pytest.mark.parametrize("option", ["padded", "bare"])
def test_a_course_with_ropes_that_last_is_the_course_where_they_may_part(option, climbed):
    scenario = load_text(text(climbed), "job.yaml")
    case = compile_case(scenario, option)
    whole, parting = perform(scenario, case, parts=False), perform(scenario, case)
    lasted = ropes_lasted(whole)
    assert lasted == ropes_lasted(parting)
    if option == "bare":
        assert lasted == LASTS[climbed]
    if lasted:
        assert whole.tape.tobytes() == parting.tape.tobytes()
        assert depths_by_step(whole) == depths_by_step(parting)
        assert whole.ticks == parting.ticks


@pytest.mark.parametrize("climbed", LASTS)
def test_doubts_are_those_of_a_run_of_its_own(climbed):
    model = ScenarioModel(text(climbed), "job.yaml", 0)
    for option in model.options:
        ready = model.ready(option)
        depths = depths_by_step(perform(ready.scenario, ready.case))
        own = doubts_of(failures_at_every_step(ready.scenario, option, depths))
        assert model.doubts(option) == own
        assert ready.depths in (None, depths)
