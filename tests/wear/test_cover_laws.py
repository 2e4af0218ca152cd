"""Protection lies on its edge: laws over the library's kinds and typed ones."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from edgewear import simulate
from edgewear.case import compile_case, covers
from edgewear.engine.run_job import perform
from edgewear.layout import MOVEMENT
from edgewear.mechanics.wear.wear import gain, seen_radius_m
from edgewear.scenario import load_text
from edgewear.scenario.read.libraries import built_in
from edgewear.validation.trials import compiled, drawn, nominal, unbreakable

TEXT = """\
edgewear: 1
title: an edge and what lies on it
setting: test
edges: {{edge: {{radius: {radius}, surface: {surface}, friction: {friction}}}}}
ropes: {{rope: {{like: low-stretch 11, length: 60 m, stopper: yes}}}}
people: {{climber: {{mass: 90 kg, technique: jerky, start: 8 m}}}}
options:
  bare: {{rope: rope, over: [{{edge: edge, after: 20 m, bend: 40 deg}}]}}
  covered: {{rope: rope, over: [{{edge: edge, after: 20 m, bend: 40 deg}}], protect: {{edge: {cover}}}}}
job: [{{repeat: {{times: {times}, steps: [{{ascend: 2 m}}, {{lower unloaded: 2 m}}]}}}}]
when: {{core visible: carry on}}
"""  # noqa: E501
KINDS = sorted(built_in()["protection"])
RADII = st.floats(0.8, 60.0).map(lambda r: f"{r:.2f} mm")
SURFACES = st.sampled_from(sorted(built_in()["surfaces"]))


@st.composite
def typed(draw) -> str:
    """A kind of the library with numbers of its own."""
    return (
        f"{{is: {draw(st.sampled_from(KINDS))}, friction: 0.3, "
        f"severity: {draw(st.floats(0.01, 2.0)):.3f}, "
        f"thickness: {draw(st.floats(0.0, 20.0)):.2f} mm, "
        f"radius: {draw(st.floats(0.0, 40.0)):.2f} mm}}"
    )


LIBRARY = st.sampled_from([f"{{is: {kind}, friction: 0.3}}" for kind in KINDS])


def text(cover: str, radius: str, surface: str, times: int = 1) -> str:
    """The edge has the cover's friction, so that only what lies between is compared."""
    return TEXT.format(
        cover=cover, radius=radius, surface=f'"{surface}"', friction=0.3, times=times
    )


@settings(max_examples=40, deadline=None)
@given(cover=st.one_of(LIBRARY, typed()), radius=RADII, surface=SURFACES)
def test_a_cover_is_never_worse_than_bare_beyond_its_friction(cover, radius, surface) -> None:
    """In every world: a radius no smaller, and no more exposure a joule than the bare edge."""
    scenario = load_text(text(cover, radius, surface), "cover")
    bare, covered = (compile_case(scenario, option) for option in ("bare", "covered"))
    values = drawn(covered, 6, 1)
    tape = np.zeros(0, MOVEMENT)
    with_it, without = (case.batch(tape, values, 6) for case in (covered, bare))
    for run in range(6):
        under, own = with_it.edges[run, 0, 0], without.edges[run, 0, 0]
        seen = seen_radius_m(under)
        assert seen >= own["radius_m"] + under["thickness_m"]
        assert under["radius_m"] == own["radius_m"]  # one edge, one world
        args = with_it.lines[run, 0], with_it.wear[run, 0]
        assert gain(under, *args) <= gain(own, *args) * (1.0 + 1e-12)  # rounding


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("radius", ["1 mm", "6 mm", "30 mm", "50 mm"])
@pytest.mark.parametrize("surface", ["steel", "ice"])
def test_a_whole_climb_over_a_cover_wears_no_more_than_over_the_bare_edge(
    kind: str, radius: str, surface: str
) -> None:
    worn = {}
    for option in ("bare", "covered"):
        case, tape = compiled(text(f"{{is: {kind}, friction: 0.3}}", radius, surface), option)
        worn[option] = nominal(unbreakable(case), tape)[0]["sheath_demand_max"]
    assert 0.0 < worn["covered"] < worn["bare"]


def test_the_same_pad_on_an_arris_a_pipe_and_ice_differs() -> None:
    pad = "{is: pad, friction: 0.3}"
    found = {}
    for name, radius, surface in (("arris", "1 mm", "steel"), ("pipe", "30 mm", "steel"),
                                  ("ice", "1 mm", "ice")):  # fmt: skip
        case, tape = compiled(text(pad, radius, surface), "covered")
        found[name] = nominal(unbreakable(case), tape)[0]["sheath_demand_max"]
    assert found["pipe"] < found["ice"] < found["arris"]


@given(radius_mm=st.floats(0.8, 40.0), roughness=st.floats(0.2, 5.0), more=st.floats(1.05, 4.0))
@settings(max_examples=20, deadline=None)
def test_a_sharper_or_rougher_edge_uses_a_cover_up_sooner(radius_mm, roughness, more) -> None:
    plain = load_text(text("pad", f"{radius_mm:.3f} mm", "steel"), "edge")
    edge = plain.edges["edge"]

    def rate(**factors: float) -> float:
        changed = {f: getattr(edge, f).model_copy(update={"value": getattr(edge, f).value * by})
                   for f, by in factors.items()}  # fmt: skip
        return covers.use(plain, edge.model_copy(update=changed))

    here = rate(roughness=roughness)
    assert rate(roughness=roughness, radius=1.0 / more) > here
    assert rate(roughness=roughness * more) > here


def test_on_a_sharp_edge_a_pad_is_through_where_on_a_round_one_it_is_not() -> None:
    # the climb gives the pad as much friction energy on either; it is made to last for 0.8 of it on
    # an arris of 1 mm: used up 1.06 times as fast on one of 0.8 mm, 0.58 times on one of 40 mm
    pad = "{is: pad, friction: 0.3, creep: 0 %, capacity: CAPACITY}"
    lasting = text(pad.replace("CAPACITY", "1e9 J/m"), "1 mm", "steel")
    whole = simulate(load_text(lasting, "pad"), "covered")
    [made_j] = [edge["energy_j"] for line in whole["lines"] for edge in line["edges"]]
    pad = pad.replace("CAPACITY", f"{0.8 * made_j / 0.6:.0f} J/m")
    happened = {}
    for radius in ("0.8 mm", "40 mm"):
        scenario = load_text(text(pad, radius, "steel"), "pad")
        log = perform(scenario, compile_case(scenario, "covered")).log
        happened[radius] = any(entry.what == "protection used up" for entry in log)
    assert happened == {"0.8 mm": True, "40 mm": False}


def test_a_slippery_edge_lets_a_pad_be_dragged_further() -> None:
    plain = load_text(text("pad", "10 mm", "steel"), "edge").edges["edge"]
    steel, ice = (
        plain.model_copy(update={"friction": plain.friction.model_copy(update={"value": mu})})
        for mu in (0.2, 0.05)
    )
    assert covers.drag(ice) > covers.drag(steel) == 1.0
