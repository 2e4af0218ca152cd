"""When and for how long a line lay bare over an edge."""

from __future__ import annotations

from typing import Any

import pytest

from edgewear.scenario import load_text
from edgewear.study.single import simulate

TEXT = """\
edgewear: 1
title: one edge, covered now and then
setting: test
edges: {{arris: {{radius: 5 mm, surface: steel}}}}
ropes: {{rope: {{like: low-stretch 11, length: 60 m, stopper: yes}}}}
people: {{ann: {{mass: 90 kg, technique: smooth, system: pre-threaded, start: 8 m}}}}
options:
  one: {{rope: rope, {rig} over: [{{edge: arris, after: 10 m, bend: 40 deg}}]}}
job:
{job}
"""
PAD, SLING = "protect: {arris: pad},", "bypass: {arris: sling},"


def bare(rig: str, *steps: str) -> Any:
    """Where a job leaves the line bare."""
    job = "".join(f"  - {step}\n" for step in steps)
    return simulate(load_text(TEXT.format(rig=rig, job=job), "bare"))["bare_edge"]


WORK = "work: {for: 100 s}"


def test_an_edge_with_nothing_on_it_is_bare_all_the_time() -> None:
    [found] = bare("", WORK)
    assert found["edge"] == "arris"
    assert found["from_s"] < 5.0  # the person loads the line within seconds
    assert 95.0 < found["for_s"] < 130.0  # the work, and getting onto the line


@pytest.mark.parametrize("rig", [PAD, SLING])
def test_what_the_option_rigs_is_there_from_the_start(rig: str) -> None:
    assert bare(rig, WORK) == []


@pytest.mark.parametrize(("rig", "step"), [
    (PAD, "remove protection: arris"), (SLING, "remove bypass sling: arris"),
])  # fmt: skip
def test_an_edge_is_bare_once_it_is_uncovered(rig: str, step: str) -> None:
    [found] = bare(rig, WORK, step, WORK)
    assert found["from_s"] > 100.0
    assert 99.0 < found["for_s"] < 101.0  # the second work; 1 s for cuts at whole steps


@pytest.mark.parametrize(("rig", "step"), [
    (PAD, "place protection: arris"), (SLING, "fix bypass sling: arris"),
])  # fmt: skip
def test_an_edge_is_bare_until_it_is_covered(rig: str, step: str) -> None:
    [found] = bare(rig, WORK, step, WORK)
    assert found["from_s"] < 5.0
    whole = bare("", WORK, "rest: 2 min", WORK)[0]["for_s"]  # the step takes 2 min at most
    assert found["for_s"] < whole
    assert found["for_s"] >= 100.0


SLIGHT = """\
edgewear: 1
title: an edge that the line hardly bends over
setting: {setting}
edges: {{arris: {{radius: {radius}, surface: concrete}}}}
ropes: {{rope: {{like: low-stretch 11, length: 60 m, stopper: yes}}}}
people: {{ann: {{mass: 90 kg, technique: jerky, system: pre-threaded, start: 12 m}}}}
options:
  one:
    rope: rope
    over: [{{edge: arris, after: 10 m, bend: {bend}}}]
    safety line: {{rope: rope, over: [{{edge: arris, after: 10 m, bend: {bend}}}]}}
job: [{{ascend: 10 m}}, {{descend: 10 m}}]
"""


@pytest.mark.parametrize(
    "bend", ["0.002 deg", "0.04 deg", "0.3 deg", "1 deg", "1.9 deg", "2.1 deg"]
)
@pytest.mark.parametrize("radius", ["1 mm", "8 mm", "40 mm"])  # below 4 rope diameters: 44 mm
@pytest.mark.parametrize("setting", ["industrial", "test"])
def test_where_wear_is_computed_over_a_bare_edge_it_is_told_as_bare(
    bend: str, radius: str, setting: str
) -> None:
    text = SLIGHT.format(bend=bend, radius=radius, setting=setting)
    found = simulate(load_text(text, "slight"))
    [edge] = next(line for line in found["lines"] if line["role"] == "working line")["edges"]
    assert edge["demand_max"] > 0.0
    assert {one["edge"] for one in found["bare_edge"]} == {"arris"}
    assert found["control"] == "bare"
    assert ("not acceptable: protect the edge" in found["status"]) == (setting == "industrial")
