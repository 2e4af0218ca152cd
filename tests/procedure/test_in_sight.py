"""Whoever hangs in sight only later sees a casualty only then."""

from __future__ import annotations

import pytest

from edgewear.findings.fates import End
from edgewear.procedure.faults import faults
from edgewear.scenario import load_text

SITE = """\
edgewear: 1
title: One hangs before the other
setting: industrial
target: 30 %
anchors:
  a: {{out: -3 m, along: 0 m, up: 1 m, kind: pair}}
  b: {{out: -3 m, along: 1 m, up: 1 m, kind: pair}}
  c: {{out: -3 m, along: 3 m, up: 1 m, kind: pair}}
  d: {{out: -3 m, along: 4 m, up: 1 m, kind: pair}}
edges: {{lip: {{out: 0 m, up: 0 m, radius: 60 mm, surface: steel}}}}
ropes: {{r: {{like: low-stretch 11, length: 60 m, stopper: yes}}}}
people: {{ann: {{mass: 95 kg}}, bo: {{mass: 80 kg}}, cy: {{mass: 70 kg}}}}
kit: {{rescue sling: {{carried by: bo}}, second sling: 1}}
lines:
  ann: {{anchor: a, rope: r, safety line: {{anchor: b, rope: r}}}}
  bo: {{anchor: c, rope: r, safety line: {{anchor: d, rope: r}}}}
  cy: {{anchor: c, rope: r, safety line: {{anchor: d, rope: r}}}}
options: {{one: {{}}}}
job:
  ann: [cross edge: lip, descend: 4 m, work: 40 min]
  bo: [rest: {bo} min, cross edge: lip, descend: 2 m]
  cy: [rest: {cy} min{cy_hangs}]
faults: {{out: {{casualty unresponsive: ann, at: {at} min}}}}
limits: {{reach: 10 min}}
below: {{ground: -25 m}}
"""
CROSSING_MIN = 6.0
"""Nobody takes longer to cross an edge and to be seen doing it: 1 to 4 min are typed for it."""


def fate_of_ann(bo, at, cy=600, cy_hangs=""):
    text = SITE.format(bo=bo, at=at, cy=cy, cy_hangs=cy_hangs)
    found = faults(load_text(text, "made.yaml"), replicates=8, workers=1)
    (one,) = [fates for fates in found.fates if fates.names == ("out",) and not fates.step]
    return next(person for person in one.people if person.person == "ann")


@pytest.mark.parametrize("at", [10, 25])
@pytest.mark.parametrize("bo", [1, 20, 45, 120])
def test_nobody_is_noticed_before_somebody_hangs_who_sees_them(bo, at) -> None:
    fate = fate_of_ann(bo, at)
    assert fate.end is End.HANGS
    noticed_s = fate.rescue.times["noticed"].middle_s
    least_s = 60.0 * max(bo - at, 0)
    assert fate.rescue.noticed_how == "hangs in sight"
    assert least_s <= noticed_s <= least_s + 60.0 * CROSSING_MIN
    assert fate.rescue.keeps("reach") is (bo <= at)


@pytest.mark.parametrize(("cy", "cy_hangs"), [(15, ", cross edge: lip"), (90, ", cross edge: lip")])
def test_of_two_who_will_hang_the_first_sees_them(cy, cy_hangs) -> None:
    rescue = fate_of_ann(30, 10, cy, cy_hangs).rescue
    assert rescue.noticed_by == ("cy" if cy < 30 else "bo")
    first_s = 60.0 * (min(cy, 30) - 10)
    assert first_s <= rescue.times["noticed"].middle_s <= first_s + 60.0 * CROSSING_MIN
