"""An edge that a line comes onto only once its rope has stretched counts as loaded."""

from __future__ import annotations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from edgewear.rigging.findings.facts import facts
from edgewear.rigging.rig import rig
from edgewear.scenario import load_text
from edgewear.scenario.models.scenario import Scenario
from edgewear.study.single import simulate
from edgewear.terms import AVOIDED, BARE, FREED, GRAVITY_M_S2, NOT_ACCEPTABLE

TEXT = """edgewear: 1
title: a shelf far down
setting: industrial
anchors:
  a: {{out: 0 m, up: 1 m, kind: pair}}
  b: {{out: 0 m, along: 1 m, up: 1 m, kind: pair}}
edges: {{shelf: {{out: {shelf} m, up: -19 m, radius: 6 mm, surface: steel}}}}
ropes: {{r: {{like: low-stretch 11, length: 90 m, stopper: yes, elongation: {elongation} %}}}}
people: {{w: {{mass: {mass} kg, technique: normal, out: 1 m, start: 2 m}}}}
options:
  only: {{anchor: a, rope: r, {cover} safety line: {{anchor: b, protect: {{shelf: pad}}}}}}
job: [{job}]
"""
ABOVE_M = 20.0
"""From the anchor down to the shelf."""

LEVELS = {
    "": BARE,
    "protect: {shelf: pad},": "soft",
    "protect: {shelf: roller},": "rigid or rolling",
}


def scenario(
    deep: float, shelf: float, mass: float, elongation: float, cover: str = "", job: str = ""
) -> Scenario:
    swayed = "work: {for: 5 min, sway: 3 cm}"  # less along the shelf than a roller is long
    job = job or f"descend: {deep} m, {swayed}, ascend: {deep} m"
    return load_text(
        TEXT.format(shelf=shelf, mass=mass, elongation=elongation, cover=cover, job=job)
    )


def passes_at(below_m: float) -> float:
    """How far out a straight rope to somebody so far below the anchor passes the shelf [m]."""
    return ABOVE_M / below_m


def sinks(found: Scenario, below_m: float) -> float:
    """T*l/K with the legs' strongest push on the whole rope [m]."""
    who, rope = found.options["only"].people["w"], found.ropes["r"]
    push_n = who.mass.value * GRAVITY_M_S2 * who.force_ratio.value
    length_m = (below_m**2 + 1.0) ** 0.5
    return push_n * length_m / (rope.stiffness.value * rope.stiffness_factor.value)


@settings(max_examples=60, deadline=None)  # each reads and rigs a scenario
@given(
    st.floats(1.0, 15.0), st.floats(0.5, 1.0), st.floats(50.0, 130.0), st.floats(1.0, 5.0),
    st.sampled_from(sorted(LEVELS)),
)  # fmt: skip
def test_the_level_is_that_of_the_edge_from_where_the_stretched_rope_reaches_it(
    deep: float, shelf: float, mass: float, elongation: float, cover: str
) -> None:
    deep, shelf, mass, elongation = (round(x, 3) for x in (deep, shelf, mass, elongation))
    found = scenario(deep, shelf, mass, elongation, cover)
    below_m = ABOVE_M + 2.0 + deep
    sunk_m = below_m + sinks(found, below_m)
    # what is this near to touching is left to rounding: lengths are typed to a millimetre
    assume(min(abs(passes_at(x) - shelf) for x in (below_m, sunk_m)) > 2e-3)
    one = rig(found, "only")
    touched = passes_at(sunk_m) < shelf
    assert one.control == (LEVELS[cover] if touched else AVOIDED)
    assert (NOT_ACCEPTABLE in one.status) == (touched and not cover)
    told = [x.words for x in facts(found, "only").mind if "once the rope has stretched" in x.words]
    assert bool(told) == (touched and passes_at(below_m) >= shelf)


@pytest.mark.parametrize("deep", [4.6, 4.8, 5.0, 5.3])
@pytest.mark.parametrize("mass", [80, 110])
@pytest.mark.parametrize("elongation", [2.0, 4.0])
def test_no_run_loads_a_bare_edge_that_reads_as_avoided(
    deep: float, mass: float, elongation: float
) -> None:
    """As planned, people hang somewhat above where the rope first touches the shelf."""
    shelf = 0.72  # a straight rope passes here from 27.8 m below the anchor on
    job = f"descend: {deep} m, work: {{for: 2 min, bounce: 5 cm}}, ascend: 1 m"
    found = scenario(deep, shelf, mass, elongation, job=job)
    bare = simulate(found)["bare_edge"]
    one = rig(found, "only")
    assert passes_at(ABOVE_M + 2.0 + deep) > shelf
    assert (NOT_ACCEPTABLE in one.status) or not bare


@pytest.mark.parametrize(("shelf", "freed"), [(0.99, False), (0.3, True)])
def test_a_re_anchor_frees_no_edge_that_the_rope_below_it_sinks_onto(
    shelf: float, freed: bool
) -> None:
    """As planned the rope from the bolt passes the shelf 20 mm further out; as it sinks, on it."""
    text = TEXT.format(shelf=shelf, mass=100, elongation=5, cover="re-anchor: [bolt],",
                       job="descend: 30 m, work: 5 min, ascend: 2 m")  # fmt: skip
    bolt = "  bolt: {out: 0.9 m, up: -16 m, kind: pair}\nedges:"
    text = text.replace("edges:", bolt).replace("out: 1 m, start", "out: 2 m, start")
    below_m = 19.0 + 2.0 + 30.0 - 16.0
    planned_m = 0.9 + 1.1 * 3.0 / below_m
    sunk_m = 0.9 + 1.1 * 3.0 / (below_m + sinks(load_text(text), below_m))
    assert (sunk_m < shelf < planned_m) != freed
    one = rig(load_text(text), "only")
    assert one.edge_levels.get("shelf", FREED) == (FREED if freed else BARE)
