"""Observations beside the domain of the fit: a published bench test, and an hour of work.

Both are predictions; nothing is fitted to them.

The bench test: Fleetwood 2016, Testing: Abrasion Resistance (a page of a maker of ropes, read): a
mass of 315 lb (142.9 kg) is raised and lowered by a hydraulic tester, which drags the rope 40 cm
over a steel file at a bend of 150 to 160 degrees, the file cleaned every cycle, until the core
shows. Not stated, so assumed: the speed, 0.05 m/s; the file's radius, 3 mm (1 to 10); its wear
relative to rolled steel, 3 (1 to 10); friction 0.25 (0.15 to 0.4); one metre of rope to the drive.
How often a blend outlasts polyester on the same bench depends on none of these.

The hour: common practice, no published source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from edgewear.validation.trials import compiled, drawn, nominal, played, unbreakable

Floats = NDArray[np.float64]

SOURCE = "Fleetwood 2016, Testing: Abrasion Resistance"

CYCLES = 9
"""Cycles played; a place's demand grows alike in each, so that 1 is reached in proportion."""

TEXT = """\
edgewear: 1
title: bench test over a file
setting: test
edges:
  file:
    radius: {{value: 3 mm, low: 1 mm, high: 10 mm, distribution: lognormal, pedigree: assumed}}
    surface: steel
    friction: {{value: 0.25, low: 0.15, high: 0.4, distribution: lognormal, pedigree: assumed}}
    roughness: {{value: 3, low: 1, high: 10, distribution: lognormal, pedigree: assumed}}
ropes: {{{sheath} rope: {{like: {rope}, sheath: {sheath}, length: 10 m}}}}
options:
  bare: {{rope: {sheath} rope, over: [{{edge: file, after: 1 m, bend: 150 deg to 160 deg}}]}}
job: [{{reciprocate: {{load: 142.9 kg, travel: 0.4 m, speed: 0.05 m/s, cycles: {cycles}}}}}]
when: {{core visible: carry on}}
"""
"""Two ropes have names of their own, so that what differs from rope to rope is drawn for each."""


@dataclass(frozen=True)
class Bench:
    """A rope on the bench, its cycles until the core shows, perhaps over those of another."""

    name: str
    seen: str
    low: float
    """Least figure that agrees with what was seen."""
    high: float
    rope: str
    sheath: str
    against: str = ""
    """Sheath whose cycles on the same bench the figure is divided by; empty: cycles."""

    @property
    def unit(self) -> str:
        """Of the figure."""
        return "1" if self.against else "cycles"

    def figures(self, draws: int, seed: int) -> tuple[float, Floats]:
        """Predict the figure: nominal, and (draws,) in as many worlds."""
        own = self._cycles(self.sheath, draws, seed)
        if not self.against:
            return own
        other = self._cycles(self.against, draws, seed)
        return own[0] / other[0], own[1] / other[1]

    def _cycles(self, sheath: str, draws: int, seed: int) -> tuple[float, Floats]:
        text = TEXT.format(rope=self.rope, sheath=sheath, cycles=CYCLES)
        case, tape = compiled(text)
        case = unbreakable(case)
        runs = played(case, tape, drawn(case, draws, seed), seed)
        middle = float(nominal(case, tape)["sheath_demand_max"][0])
        return CYCLES / middle, CYCLES / runs["sheath_demand_max"]


THIN, THICK = "low-stretch 9", "low-stretch 11"
BENCH = (
    Bench("B1 9 mm, polyester sheath over a file", "core visible after 9 cycles",
          9.0, 9.0, THIN, "polyester"),
    Bench("B2 11 mm, polyester sheath over a file", "core visible after 15 cycles",
          15.0, 15.0, THICK, "polyester"),
    Bench("B3 9 mm, aramid blend beside polyester", "core visible after 14 cycles, not 9",
          14.0 / 9.0, 14.0 / 9.0, THIN, "reinforced", "polyester"),
    Bench("B4 11 mm, aramid blend beside polyester", "core visible after more than 27, not 15",
          27.0 / 15.0, np.inf, THICK, "reinforced", "polyester"),
)  # fmt: skip

HOUR = """\
edgewear: 1
title: an hour of ordinary work over padded edges
setting: test
anchors: {posts: {out: 8 m back, up: 0.6 m, kind: pair}}
edges:
  coping: {out: 0 m, up: 0 m, is: worn masonry arris}
  angle:  {out: 0.3 m, up: -0.8 m, radius: 3 mm, surface: steel}
ropes: {rope: {like: low-stretch 11, length: 40 m, stopper: yes}}
people: {worker: {mass: {value: 100 kg, low: 75 kg, high: 130 kg, pedigree: assumed}}}
options: {bare: {anchor: posts, rope: rope, protect: {coping: pad, angle: pad}}}
job:
  - cross edge: angle
  - descend: 12 m
  - work: 60 min
when: {core visible: carry on}
"""
"""The option bears the name that all observations' options have."""
