"""What a deviation bears in work is by the largest bend of the job, not by that at the deepest."""

from __future__ import annotations

from math import radians, sin

import pytest

from edgewear.rigging.findings.facts import facts
from edgewear.scenario import load_text
from edgewear.study.single import simulate
from edgewear.terms import GRAVITY_M_S2

SITE = """\
edgewear: 1
title: Work to the side past a deviation
setting: alpine
target: 30 %
anchors:
  post: {{out: -1 m, along: 0 m, up: 1 m, kind: pair}}
  bolt: {{out: {out} m, along: {along} m, up: -4 m, kind: single, is: bolt}}
edges: {{lip: {{out: 0 m, up: 0 m, radius: 30 mm, surface: steel}}}}
ropes: {{a: {{like: low-stretch 11, length: 60 m}}}}
people: {{ann: {{mass: 95 kg, out: 0.5 m, technique: smooth}}}}
options:
  one: {{anchor: post, rope: a, deviations: [{{anchor: bolt, sling: {sling} m}}]}}
job: [cross edge: lip, {steps}]
"""
WEIGHT_N = 95 * GRAVITY_M_S2
WORKS = "work: {for: 30 s, sway: SWAY m}"
JOBS = {
    "deep": f"descend: 12 m, {WORKS}, ascend: 12 m",
    "just below": f"descend: 4 m, {WORKS}, ascend: 4 m",
    "high first": f"descend: 4 m, {WORKS}, descend: 12 m, ascend: 16 m",
}
PLACES = {
    "drawn in": (0.1, 0.0, 0.1),
    "drawn aside": (0.5, 1.0, 0.2),
    "drawn out": (1.5, 0.0, 0.2),
    "to one side only": (0.6, 0.6, 0.4),
}


def read(place: str, job: str, sway: float):
    out, along, sling = PLACES[place]
    steps = JOBS[job].replace("SWAY", f"{sway}")
    return load_text(SITE.format(out=out, along=along, sling=sling, steps=steps), "made.yaml")


def load_n(scenario, case: str) -> float:
    return sum(
        one.peak_n for one in facts(scenario, "one").loads if (one.name, one.case) == ("bolt", case)
    )


@pytest.mark.parametrize("job", JOBS)
@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("sway", [0.0, 0.5, 1.5])
def test_it_is_no_less_than_the_weight_at_the_largest_bend_of_a_run(place, job, sway) -> None:
    """2*W*sin(bend/2), the bend by the kernels, which know nothing of rigging.

    0.9: a run's sway and its stretch pass the places that rigging looks at by a little.
    """
    scenario = read(place, job, sway)
    [line] = simulate(scenario)["lines"]
    bends = [edge["wrap_deg"] for edge in line["edges"] if edge["name"] == "bolt"]
    due_n = 2.0 * WEIGHT_N * sin(radians(max(bends, default=0.0)) / 2.0)
    assert load_n(scenario, "in work") >= 0.9 * due_n


@pytest.mark.parametrize("job", JOBS)
@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("case", ["in work", "rescue"])
def test_work_that_goes_further_aside_never_asks_less_of_it(place, job, case) -> None:
    found = [load_n(read(place, job, sway), case) for sway in (0.0, 0.3, 1.0, 2.0)]
    assert found == sorted(found)


@pytest.mark.parametrize("place", PLACES)
def test_a_place_further_up_counts_as_much_as_the_deepest(place: str) -> None:
    """Work high up and then deep down asks at least what each of both alone does."""
    both = load_n(read(place, "high first", 1.0), "in work")
    assert both >= load_n(read(place, "just below", 1.0), "in work") * (1.0 - 1e-9)  # rounding
