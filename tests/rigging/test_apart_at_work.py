"""Two lines of a person are held apart wherever somebody works, not at the deepest alone."""

from __future__ import annotations

import re

import pytest

from edgewear.rigging import rig
from edgewear.scenario import load_text
from edgewear.terms import NOT_INDEPENDENT

TEXT = """\
edgewear: 1
title: two lines that come together at the person
setting: industrial
anchors:
  one: {{out: -{back} m, up: 1 m, kind: pair}}
  two: {{out: -{back} m, up: 1 m, along: {aside} m, kind: pair}}
edges:
  lip:   {{out: 0 m, up: 0 m, radius: 30 mm, surface: steel}}
  ledge: {{out: 0.5 m, up: -{down} m, radius: 30 mm, surface: steel}}
ropes: {{rope: {{like: low-stretch 11, length: 200 m, stopper: yes}}}}
people: {{ann: {{mass: 90 kg}}}}
options:
  only:
    anchor: one
    rope: rope
    protect: {{lip: pad, ledge: pad}}
    safety line: {{anchor: two, rope: rope, protect: {{lip: pad, ledge: pad}}}}
job: [cross edge: lip, {steps}]
"""

SITES = [
    {"back": 3, "aside": 1.0, "down": 4},
    {"back": 5, "aside": 0.6, "down": 2},
    {"back": 2, "aside": 2.0, "down": 9},
]


def found(site, steps):
    """Give the status, and how far apart the lines cross each edge [m]."""
    option = rig(load_text(TEXT.format(**site, steps=steps), "apart.yaml"), "only")
    apart = {}
    for words in option.shared:
        if told := re.search(r"run over (\w+), ([\d.]+) (m|mm) apart", words):
            apart[told[1]] = float(told[2]) * (1.0 if told[3] == "m" else 0.001)
    return option.status, apart


WORKS = "work: {for: 5 min}"


@pytest.mark.parametrize("site", SITES)
@pytest.mark.parametrize("first", [10, 14, 20])
@pytest.mark.parametrize("further", [3, 15, 60])
def test_going_on_deeper_brings_no_lines_apart(site, first, further):
    """What is worked over at first stays worked over, whatever comes after."""
    alone = found(site, f"descend: {first} m, {WORKS}")
    for then in (f"descend: {further} m", f"descend: {further} m, {WORKS}"):
        status, apart = found(site, f"descend: {first} m, {WORKS}, {then}")
        assert {edge: apart[edge] for edge in alone[1]} == alone[1]
        assert NOT_INDEPENDENT in status or NOT_INDEPENDENT not in alone[0]


@pytest.mark.parametrize("site", SITES)
def test_only_a_passage_is_not_counted(site):
    """Whoever only passes a place hangs there no longer than it takes to come by."""
    deep = found(site, f"descend: 40 m, {WORKS}")
    assert found(site, f"descend: 10 m, descend: 30 m, {WORKS}") == deep
