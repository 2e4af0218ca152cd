"""A fault that comes with a step says whose step that is where nobody is named."""

from __future__ import annotations

import pytest

from edgewear.scenario import load_text
from edgewear.scenario.summaries import brief
from support.planted.sound import text_of

ALONE = {"people/rescuer": None, "lines/rescuer": None, "job/rescuer": None}
WHOSE = "of the first to begin it"


@pytest.mark.parametrize("fault", [
    {"anchor fails": "west", "step": 3}, {"weather": "wet", "step": 2},
    {"protection displaced": "lip", "step": 1}, {"attendant away": "3 min", "step": 1},
    {"jerky person": "technician", "step": 3}, {"casualty unresponsive": "technician", "step": 3},
    {"anchor fails": "west", "at": "3 min"}, {"weather": "wet", "after": "back"},
])  # fmt: skip
@pytest.mark.parametrize("more", [{}, ALONE], ids=["two people", "one person"])
def test_whose_step_it_is_is_told_where_it_could_be_somebody_elses(fault, more) -> None:
    scenario = load_text(text_of("pick-off", {**more, "faults": {"it": fault}}), "made.yaml")
    said = " ".join(" ".join(brief(scenario)).split())
    named = {"jerky person", "casualty unresponsive"} & set(fault)
    assert (WHOSE in said) == ("step" in fault and not named and not more)
    assert (f"with step {fault.get('step')} {WHOSE}" in said) == (WHOSE in said)
