"""A rope with more friction sticks more and slides less over what lies on an edge.

So it drags a pad along less than a new one does, by what is counted: the output says that.
"""

from __future__ import annotations

from itertools import pairwise

import pytest

from edgewear.scenario import load_text
from edgewear.study.single import simulate

TEXT = """\
edgewear: 1
title: a pad on a flange
setting: test
edges: {{flange: {{radius: 3 mm, surface: steel}}}}
ropes: {{rope: {{like: {like}, length: 60 m, {rope}}}}}
people: {{ann: {{mass: 95 kg, technique: {technique}, system: pre-threaded, start: 20 m}}}}
options:
  one:
    rope: rope
    protect: {{flange: pad}}
    over: [{{edge: flange, after: {setback}, bend: {bend}}}]
job: [{{ascend: 8 m}}]
"""


def slid_m(rope: str, **site: str) -> float:
    document = simulate(load_text(TEXT.format(rope=rope, **site), "sticking"))
    [edge] = document["lines"][0]["edges"]
    return float(edge["slip_m"])


SITES = [
    {"like": "low-stretch 11", "technique": "jerky", "setback": "12 m", "bend": "40 deg"},
    {"like": "low-stretch 11", "technique": "normal", "setback": "12 m", "bend": "60 deg"},
    {"like": "low-stretch 10", "technique": "jerky", "setback": "5 m", "bend": "80 deg"},
    {"like": "low-stretch 10", "technique": "normal", "setback": "20 m", "bend": "25 deg"},
]


@pytest.mark.parametrize("site", SITES, ids=lambda site: f"{site['setback']} {site['bend']}")
def test_more_friction_slides_less(site: dict[str, str]) -> None:
    slid = [slid_m(f"friction factor: {factor}", **site) for factor in (1, 1.15, 1.3, 1.6)]
    assert slid[0] > 0.0
    assert all(more < less for less, more in pairwise(slid)), slid


@pytest.mark.parametrize("site", SITES, ids=lambda site: f"{site['setback']} {site['bend']}")
def test_of_a_used_rope_it_is_the_friction_that_lets_it_slide_less(site: dict[str, str]) -> None:
    new, used = slid_m("condition: new", **site), slid_m("condition: used", **site)
    friction = slid_m("friction factor: 1.15", **site)  # the library's, of a used rope
    softer = slid_m("stiffness factor: 0.95", **site)
    assert used < new
    # what the friction takes away is more than what the softer rope changes either way
    assert new - friction > abs(softer - new)
