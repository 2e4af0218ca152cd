"""How much of the wear at an edge a run puts down to travel along it."""

from __future__ import annotations

from typing import Any

import pytest

from edgewear.scenario import load_text
from edgewear.study.single import simulate

TEXT = """\
edgewear: 1
title: one edge, and work that sways
setting: test
edges: {{arris: {{radius: 5 mm, surface: steel}}}}
ropes: {{rope: {{like: low-stretch 11, length: 60 m, stopper: yes}}}}
people: {{ann: {{mass: 90 kg, technique: smooth, system: pre-threaded, start: 5 m}}}}
options:
  one: {{rope: rope, over: [{{edge: arris, after: 20 m, bend: 20 deg}}]}}
job:
{job}
"""


def at_the_edge(*steps: str) -> dict[str, Any]:
    """What the edge did in a job."""
    job = "".join(f"  - {step}\n" for step in steps)
    document = simulate(load_text(TEXT.format(job=job), "aside"))
    [edge] = document["lines"][0]["edges"]
    return dict(edge)


WORK = "work: {{for: 300 s, sway: {sway}, sway rate: 0.2 Hz, duty: 100 %}}"


@pytest.mark.parametrize(
    "step", ["ascend: 2 m", "descend: 3 m", "work: {for: 100 s, bounce: 5 cm}"]
)
def test_without_a_sway_nothing_is_put_down_to_it(step: str) -> None:
    found = at_the_edge(step)
    assert found["demand_max"] > 0.0
    assert found["sideways_m"] == found["sideways_demand"] == 0.0


@pytest.mark.parametrize("sway", ["60 cm", "80 cm"])
def test_at_one_place_it_is_what_the_sway_adds_there(sway: str) -> None:
    found = at_the_edge(WORK.format(sway=sway))
    still = at_the_edge("work: {for: 300 s}")
    added = found["demand_max"] - still["demand_max"]
    # the load is the same, and getting onto the line wears alike in both
    assert found["sideways_demand"] == pytest.approx(added, rel=0.02)
    assert found["sideways_m"] > 1.0


@pytest.mark.parametrize("height", ["1 m", "2 m"])
def test_at_two_places_it_is_never_more_than_the_edge_took(height: str) -> None:
    sways = WORK.format(sway="80 cm")
    found = at_the_edge(sways, f"ascend: {height}", sways)
    assert 0.0 < found["sideways_demand"] <= found["demand_max"]
