"""How hot an edge becomes is told of what lay there while the rope slid."""

from __future__ import annotations

import pytest

from edgewear.case import compile_case
from edgewear.case.edge_conditions import BYPASS
from edgewear.case.heat import HEAT
from edgewear.scenario import load_text
from edgewear.study.single import simulate

TEXT = """\
edgewear: 1
title: one edge, covered now and then
setting: test
edges: {{arris: {{radius: {radius}, surface: {surface}}}}}
ropes: {{rope: {{like: low-stretch 11, length: 60 m, stopper: yes}}}}
people: {{ann: {{mass: 90 kg, technique: normal, system: pre-threaded, start: 12 m}}}}
options:
  one: {{rope: rope, {rig} over: [{{edge: arris, after: 18 m, bend: {bend}}}]}}
job:
{job}
"""
OFF, ON = "remove protection: arris", "place protection: arris"
CLIMB = "ascend: 4 m"
SITES = [("5 mm", "steel", "60 deg"), ("3 mm", "concrete", "35 deg"), ("12 mm", "steel", "80 deg")]


def hottest_c(site: tuple[str, str, str], cover: str | None, *steps: str) -> float:
    """The temperature that a run tells of the edge."""
    radius, surface, bend = site
    rig = "" if cover is None else f"protect: {{arris: {cover}}},"
    job = "".join(f"  - {step}\n" for step in steps)
    text = TEXT.format(radius=radius, surface=surface, bend=bend, rig=rig, job=job)
    [edge] = simulate(load_text(text, "heat"))["lines"][0]["edges"]
    return float(edge["flash_temperature_c"])


@pytest.mark.parametrize("site", SITES)
@pytest.mark.parametrize("cover", ["pad", "sleeve", "edge plate"])
def test_what_is_taken_off_before_anything_slides_changes_nothing(
    site: tuple[str, str, str], cover: str
) -> None:
    assert hottest_c(site, cover, OFF, CLIMB) == hottest_c(site, None, CLIMB)


@pytest.mark.parametrize("site", SITES)
@pytest.mark.parametrize("cover", ["pad", "edge plate"])
def test_what_is_taken_off_after_everything_slid_changes_nothing(
    site: tuple[str, str, str], cover: str
) -> None:
    assert hottest_c(site, cover, CLIMB, OFF) == hottest_c(site, cover, CLIMB)


@pytest.mark.parametrize("site", SITES)
def test_what_is_placed_before_anything_slides_is_as_if_it_had_lain_there(
    site: tuple[str, str, str],
) -> None:
    assert hottest_c(site, "pad", ON, CLIMB) == hottest_c(site, "pad", CLIMB)


@pytest.mark.parametrize("site", SITES)
def test_of_two_things_the_hotter_is_told(site: tuple[str, str, str]) -> None:
    under_the_pad = hottest_c(site, "pad", CLIMB)
    both = hottest_c(site, "pad", CLIMB, OFF, CLIMB)
    # the second climb is over the bare edge; the first stays as hot as it was
    assert both >= under_the_pad


SLUNG, UNSLUNG = "fix bypass sling: arris", "remove bypass sling: arris"


@pytest.mark.parametrize("site", SITES)
@pytest.mark.parametrize("steps", [(SLUNG,), (UNSLUNG,), (SLUNG, UNSLUNG)])
def test_under_a_sling_heat_meets_the_bare_edge(site: tuple[str, str, str], steps) -> None:
    """A sling lies between nothing: what slides below it slides over the edge's own surface."""
    radius, surface, bend = site
    job = "".join(f"  - {step}\n" for step in (CLIMB, *steps, CLIMB))
    rig = "bypass: {arris: sling},"
    scenario = load_text(
        TEXT.format(radius=radius, surface=surface, bend=bend, rig=rig, job=job), "heat"
    )
    case = compile_case(scenario, "one")
    of_edge = scenario.edges["arris"].surface
    slung = [n for n, one in enumerate(case.conditions) if one[2] == BYPASS]
    assert slung
    for number in slung:
        heat = case.heat_of_conditions[number]
        told = tuple(heat[name] for name in HEAT.names[2:4])
        assert told == (of_edge.conductivity.value, of_edge.heat_capacity.value)
