"""An edge counts at whatever bend of a loaded line: wear knows no least one."""

from __future__ import annotations

from math import degrees

import pytest

from edgewear.rigging.rig import Layout, rigged
from edgewear.scenario import load_text
from edgewear.terms import CUTTING, NOT_ACCEPTABLE, WORKING

JOB = """edgewear: 1
title: A nose that a plumb line hardly touches
setting: industrial
anchors:
  a: {{out: -1.5 m, up: 0.3 m, kind: pair}}
  b: {{out: -1.5 m, along: 1 m, up: 0.3 m, kind: pair}}
edges:
  crest: {{out: 0 m, up: 0 m, is: chamfered concrete}}
  nose: {{out: {out} m, up: -9 m, {kind}}}
ropes: {{r11: {{like: low-stretch 11, length: 60 m, stopper: yes}}}}
people: {{lead: {{mass: 90 kg, technique: normal, out: 1 m}}}}
options:
  only:
    rope: r11
    anchor: a
    protect: {{{cover}}}
    safety line: {{anchor: b, protect: {{{cover}}}}}
job: [cross edge: crest, descend: 20 m]
"""
KINDS = {
    "broken": ("is: broken concrete", True),
    "cut sheet": ("radius: 0.3 mm, surface: steel", True),
    "arris": ("is: worn masonry arris", False),
    "tube": ("radius: 60 mm, surface: steel", False),
}


def laid_out(out: float, kind: str, cover: str) -> Layout:
    """The option over a nose so far out."""
    scenario = load_text(JOB.format(out=out, kind=KINDS[kind][0], cover=cover))
    return Layout(scenario, scenario.options["only"], ["lead"])


def bend_deg(found: Layout) -> float:
    """The largest bend of the working line at the nose under load; 0: it does not touch it."""
    on = {i for i, section in enumerate(found.sections) if section.role == WORKING}
    bends = [c.bend_rad for c in found.loadable if c.edge == "nose" and c.section in on]
    return degrees(max(bends, default=0.0))


@pytest.mark.parametrize("out", [0.3, 0.46, 0.5, 0.6, 0.7, 0.9])
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("cover", ["crest: pad", "crest: pad, nose: pad"])
def test_an_edge_counts_however_little_the_line_bends_there(out, kind, cover):
    place = laid_out(out, kind, cover)
    found = rigged(place, "only")
    bend, cuts = bend_deg(place), KINDS[kind][1]
    counts = bend > 0.001  # below it may be no more than how numbers round
    small, bare = kind != "tube", "nose" not in cover
    assert (CUTTING in found.status) == (cuts and counts)
    assert (NOT_ACCEPTABLE in found.status) == (counts and small and bare)
    assert (found.control == "bare") == (counts and bare)


def test_the_noses_bend_the_rope_by_less_than_two_degrees_and_more():
    bends = [bend_deg(laid_out(out, "arris", "crest: pad")) for out in (0.3, 0.5, 0.9)]
    assert bends[0] < bends[1] < bends[2]
