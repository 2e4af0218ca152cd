"""The observations of the trade that wear is held against, as scenarios.

Common practice, no published source. Ascents on a low-stretch polyamide rope that bends 30 degrees
over a sharp edge, 20 m of rope between anchor and edge; longer distances by repeating 5 m, the
rope fixed at its anchor, the climber taken back with no load on it. Not stated, so assumed: 90 kg
with kit, an edge of 1 mm (steel arris), elongation 3.2 %, 8 m of rope below the edge at the start,
pre-threaded where not said, 11 mm for the reinforced sheath.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from edgewear.validation.bench_tests import HOUR

Quantity = Literal["core visible", "demand", "core loss"]

UNITS: dict[Quantity, str] = {"core visible": "m ascended", "demand": "1", "core loss": "1"}

SOURCE = "common practice, no published source"

TEXT = """\
edgewear: 1
title: {title}
setting: test
edges: {{arris: {{radius: 1 mm, surface: steel, roughness: 1}}}}
ropes:
  rope:
    like: {rope}
    length: 60 m
    stopper: yes
    elongation:
      {{value: 3.2 %, low: 2.4 %, high: 4.5 %, distribution: lognormal, pedigree: assumed}}
people:
  climber:
    mass: {{value: 90 kg, low: 82 kg, high: 98 kg, distribution: normal, pedigree: assumed}}
    technique: {technique}
    system: {system}
    start: 8 m
options:
  bare: {{rope: rope, over: [{{edge: arris, after: 20 m, bend: 30 deg}}]{bypass}}}
job:{before}
  - repeat: {{times: {times}, steps: [{{ascend: {height}}}, {{lower unloaded: {height}}}]}}
when: {{core visible: carry on}}
"""


@dataclass(frozen=True)
class Observed:
    """Something people who test ropes over edges report, and the set-up it was seen in."""

    key: str
    name: str
    seen: str
    quantity: Quantity
    low: float
    """Least value of the quantity that agrees with what was seen."""
    high: float
    """Largest one."""
    used_to_fit: bool
    rope: str = "low-stretch 11"
    technique: str = "jerky"
    system: str = "pre-threaded"
    times: int = 1
    height: str = "5 m"
    bypass: str | None = None

    @property
    def text(self) -> str:
        """The set-up as a scenario."""
        return TEXT.format(
            title=self.name,
            rope=self.rope,
            technique=self.technique,
            system=self.system,
            times=self.times,
            height=self.height,
            bypass=f", bypass: {{arris: {self.bypass}}}" if self.bypass else "",
            before="\n  - fix bypass sling: arris" if self.bypass else "",
        )


@dataclass(frozen=True)
class Elsewhere(Observed):
    """An observation whose set-up has little in common with the others."""

    scenario: str = ""

    @property
    def text(self) -> str:
        """The set-up as a scenario."""
        return self.scenario


T1 = Observed(
    "T1", "T1 11 mm, jerky, pre-threaded", "sheath broken after 3 to 4 m ascended",
    "core visible", 3.0, 4.0, True, times=4,
)  # fmt: skip
T2 = Observed(
    "T2", "T2 11 mm, smooth, pre-threaded", "after 5 m the sheath is whole, would be used again",
    "demand", 0.0, 0.5, True, technique="smooth",
)  # fmt: skip
T3_JERKY = Observed(
    "T3", "T3 11 mm, jerky, chest and hand ascender", "sheath broken near 3 m",
    "core visible", 2.0, 4.5, False, system="chest and hand ascender", times=4,
)  # fmt: skip
T3_SMOOTH = Observed(
    "T3", "T3 11 mm, smooth, chest and hand ascender", "after 5 m slightly worse than T2, usable",
    "demand", 0.0, 0.6, False, technique="smooth", system="chest and hand ascender",
)  # fmt: skip
T4 = Observed(
    "T4", "T4 9 mm, jerky, pre-threaded", "sheath broken within 3 m",
    "core visible", 0.0, 3.0, True, rope="low-stretch 9", times=4,
)  # fmt: skip
T5 = Observed(
    "T5", "T5 11 mm, jerky, 20 m", "does not part; about a quarter of the core's strength is gone",
    "core loss", 0.15, 0.35, True, times=4,
)  # fmt: skip
T6 = Observed(
    "T6", "T6 11 mm, reinforced sheath, jerky", "after 5 m still in great shape",
    "demand", 0.0, 0.5, True, rope="low-stretch 11 reinforced",
)  # fmt: skip
T7 = Observed(
    "T7", "T7 11 mm, jerky, sling clamped above and below the edge",
    "the rope is untouched; the sling may be damaged and is retired",
    "demand", 0.0, 0.0, False, bypass="sling",
)  # fmt: skip

T8 = Elsewhere(
    "T8", "T8 11 mm, an hour of ordinary work over two padded edges",
    "the rope is fit for further use", "demand", 0.0, 0.5, False, scenario=HOUR,
)  # fmt: skip

OBSERVED = (T1, T2, T3_JERKY, T3_SMOOTH, T4, T5, T6, T7)
"""Every observation of the domain, in the order of the page; T8 and a bench lie beside it."""
