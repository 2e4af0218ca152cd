"""Rope that is let through at the anchor is there, however near to the anchor the edge lies."""

from __future__ import annotations

import pytest

from edgewear.case import compile_case
from edgewear.scenario import load_text
from edgewear.study.single import simulate

TEXT = """\
edgewear: 1
title: a rope shifted past its edge
setting: test
anchors: {{a: {{out: -{back} m, up: 0 m, kind: pair, releasable: yes}}}}
edges: {{lip: {{out: 0 m, up: 0 m, radius: 30 mm, surface: steel, friction: 0.05}}}}
ropes: {{rope: {{like: low-stretch 11, length: 60 m, stopper: yes}}}}
people: {{ann: {{mass: 90 kg, technique: smooth, out: 0.4 m}}}}
options: {{one: {{anchor: a, rope: rope, shift: {by} m every {every} strokes}}}}
job: [cross edge: lip, descend: 12 m, {climbs}]
"""


def read(back: float, by: float, every: int, climbs: str):
    return load_text(TEXT.format(back=back, by=by, every=every, climbs=climbs), "shifted")


CLIMBS = {
    "one": "ascend: 12 m",
    "two": "ascend: 5 m, ascend: 7 m",
    "repeated": "repeat: {times: 3, steps: [ascend: 3 m, descend: 2 m]}, ascend: 9 m",
}


@pytest.mark.parametrize("climbs", CLIMBS)
@pytest.mark.parametrize("back", [0.5, 1.5, 8.0])
@pytest.mark.parametrize(("by", "every"), [(0.4, 5), (0.5, 10), (1.0, 8)])
def test_a_climb_that_shifts_its_rope_comes_to_its_end(back, by, every, climbs) -> None:
    """Nothing of the rope is used up: sixty metres are there, and nobody needs more than thirty."""
    scenario = read(back, by, every, CLIMBS[climbs])
    document = simulate(scenario)
    said = str(document["events"])
    assert "rope shifted" in said
    assert "used up" not in said
    # what the case holds ready behind the anchor is at least what went through
    assert compile_case(scenario, "one").let_out_m >= by * said.count("rope shifted") - 1e-9
