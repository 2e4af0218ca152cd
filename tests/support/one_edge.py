"""One rope over one edge, one climber: the demand of a set-up typed in a few words."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from edgewear.validation.trials import compiled, nominal, unbreakable

TEXT = """\
edgewear: 1
title: one edge
setting: test
edges: {{arris: {{radius: {radius_mm:.6g} mm, surface: steel, roughness: {roughness:.6g}}}}}
ropes: {{rope: {{like: {rope}, length: 150 m, stopper: yes}}}}
people:
  climber: {{mass: {mass_kg:.6g} kg, technique: {technique}, system: {system}, start: 8 m}}
options:
  bare: {{rope: rope, over: [{{edge: arris, after: {setback_m:.6g} m, bend: {bend_deg:.6g} deg}}]}}
job:
  - repeat: {{times: {ascents}, steps: [{{ascend: 5 m}}, {{lower unloaded: 5 m}}]}}
when: {{core visible: carry on}}
"""


@dataclass(frozen=True)
class OneEdge:
    """A set-up; the defaults are those of the observations."""

    technique: str = "jerky"
    system: str = "pre-threaded"
    rope: str = "low-stretch 11"
    mass_kg: float = 90.0
    radius_mm: float = 1.0
    roughness: float = 1.0
    setback_m: float = 20.0
    bend_deg: float = 30.0
    ascents: int = 1

    @property
    def text(self) -> str:
        """The scenario."""
        return TEXT.format(**self.__dict__)

    def but(self, **changed) -> OneEdge:
        """The same with something changed."""
        return replace(self, **changed)


@cache
def run(setup: OneEdge) -> np.void:
    """RUN row of a set-up with nominal values, on a rope that never parts."""
    case, tape = compiled(setup.text)
    return nominal(unbreakable(case), tape)[0]


def demand(setup: OneEdge) -> float:
    """Sheath demand, carried on past 1."""
    return float(run(setup)["sheath_demand_max"])
