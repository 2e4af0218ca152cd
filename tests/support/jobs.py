"""Small scenarios that commands are tried with: a procedure, one measured on site, a study."""

from __future__ import annotations

PROCEDURE = """
edgewear: 1
title: A pad that slips
setting: alpine
anchors:
  top: {out: -6 m, up: 0.5 m, kind: pair}
edges:
  arris: {out: 0 m, up: 0 m, is: worn masonry arris}
ropes:
  rope: {like: low-stretch 11, length: 40 m}
people:
  climber: {mass: 90 kg, technique: normal, system: pre-threaded}
options:
  it: {anchor: top, rope: rope, protect: {arris: pad}}
job:
  - cross edge: arris
  - descend: 6 m
  - ascend: 6 m
faults:
  pad slips: {protection displaced: arris, at: 2 min}
when: {core visible: stop}
"""

MEASURED = (
    PROCEDURE.replace("options:", "target: 50 %\noptions:")
    + """observed:
  - mark travel: {edge: arris, strokes: [5 mm]}
  - bounce: {count: 12, in: 10 s, depth: 3 m}
"""
)

STUDY = """
edgewear: 1
title: Two masses
setting: test
edges:
  arris: {radius: 1 mm, surface: steel}
ropes:
  rope: {like: low-stretch 11, length: 40 m}
people:
  climber: {mass: 90 kg, technique: normal, system: pre-threaded}
options:
  bare: {rope: rope, over: [{edge: arris, after: 20 m, bend: 30 deg}]}
job:
  - ascend: 2 m
when: {core visible: carry on}
study:
  grid:
    people/climber/mass: {from: 70 kg, to: 110 kg, steps: 2}
  sample: {method: sobol, rows: 4, over: [friction]}
  seed: 7
"""
