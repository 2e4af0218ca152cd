"""What a rope has been through changes its stiffness, its strength and its friction."""

from __future__ import annotations

import numpy as np
import pytest

from edgewear.case import Case, compile_case
from edgewear.layout import MOVEMENT
from edgewear.rigging.findings.figures import stiffness_n
from edgewear.scenario import load_text
from edgewear.scenario.models.scenario import Scenario
from support.one_edge import OneEdge

WORDS = ("used", "wet", "dirty")
ROUNDING = 1e-12
"""One product of a few factors, taken in another order."""


def of(condition: str, protect: str = "") -> tuple[Scenario, Case]:
    """One rope over one edge, in a condition."""
    text = OneEdge().text.replace("stopper: yes", f"stopper: yes, condition: {condition}")
    scenario = load_text(text.replace("rope: rope,", f"rope: rope,{protect}"), "condition")
    return scenario, compile_case(scenario, "bare")


@pytest.mark.parametrize("word", WORDS)
def test_its_factors_reach_the_numbers_a_run_is_made_of(word: str) -> None:
    (_, new), (scenario, other) = of("new"), of(word)
    rope = scenario.ropes["rope"]
    for array, field, factor in (
        ("lines", "stiffness_n", rope.stiffness_factor.value),
        ("wear", "breaking_n", rope.strength_factor.value),
        ("edges", "friction", rope.friction_factor.value),
    ):
        ratio = getattr(other, array)[field].flat[0] / getattr(new, array)[field].flat[0]
        assert ratio == pytest.approx(factor, rel=ROUNDING)


def test_rigging_and_runs_take_the_same_stiffness() -> None:
    scenario, case = of("wet")
    _, dynamic_n = stiffness_n(scenario, case.rigged.sections[0])
    assert case.lines["stiffness_n"][0] == pytest.approx(dynamic_n, rel=ROUNDING)


@pytest.mark.parametrize("protect", ["", " protect: {arris: pad},"])
@pytest.mark.parametrize("word", WORDS)
def test_nobody_knows_its_factors_so_they_are_drawn(word: str, protect: str) -> None:
    _, case = of(word, protect)
    named = {u.name: u for u in case.uncertainties}
    for which, array, field in (
        ("stiffness", "lines", "stiffness_n"),
        ("strength", "wear", "breaking_n"),
        ("friction", "edges", "friction"),
    ):
        one = named[f"ropes/rope/{which} factor"]
        assert one.low < one.median <= one.high
        tape = np.zeros(0, MOVEMENT)
        batch = case.batch(tape, {one.name: np.array([one.median, one.low])}, 2)
        values = getattr(batch, array)[field].reshape(2, -1)[:, 0]
        assert values[0] == getattr(case, array)[field].flat[0]
        assert values[1] / values[0] == pytest.approx(one.low / one.median, rel=ROUNDING)


def test_a_new_rope_has_nothing_to_draw() -> None:
    _, case = of("new")
    factors = [u for u in case.uncertainties if u.name.endswith(" factor")]
    assert {u.distribution for u in factors} == {"fixed"}
