"""What every rigger knows, asked of the whole chain for every low-stretch rope in the library.

The question is put at a setback where neither technique's stroke rate lies within 10 % of a
natural frequency: near resonance a fixed rhythm is punished for a reason of its own.
"""

from __future__ import annotations

from typing import Any

import pytest
import yaml

from edgewear import simulate
from edgewear.scenario import load_text
from support.tree import PACKAGE

LIBRARY = yaml.safe_load((PACKAGE / "scenario" / "library" / "ropes.yaml").read_text())
ROPES = [name for name in LIBRARY if name.startswith("low-stretch")]
SETBACKS_M = (8.0, 12.0, 16.0, 20.0, 24.0, 30.0, 36.0, 42.0, 50.0, 60.0)
AWAY = 0.10  # of a natural frequency, relative

ONE_EDGE = """
edgewear: 1
title: One edge
setting: test
edges:
  arris: {{radius: 2 mm, surface: steel}}
ropes:
  rope: {{like: {rope}, length: 80 m}}
people:
  climber: {{mass: 90 kg, technique: {technique}, system: pre-threaded}}
options:
  it:
    rope: rope
    over: [{{edge: arris, after: {setback} m, bend: 40 deg}}]
    protect: {{{protect}}}
job:
  - ascend: 5 m
when: {{core visible: carry on}}
"""

RE_ANCHORED = """
edgewear: 1
title: An anchor below the edge
setting: test
anchors:
  top: {{out: -12 m, up: 0.5 m, kind: pair}}
  below: {{out: 0.3 m, up: -3 m, kind: pair}}
edges:
  arris: {{out: 0 m, up: 0 m, radius: 2 mm, surface: steel}}
ropes:
  rope: {{like: {rope}, length: 80 m}}
people:
  climber: {{mass: 90 kg, technique: jerky, system: pre-threaded}}
options:
  plain: {{anchor: top, rope: rope}}
  re-anchored: {{anchor: top, rope: rope, re-anchor: [below]}}
job:
  - cross edge: arris
  - descend: 16 m
  - ascend: {height} m
when: {{core visible: carry on}}
"""


def played(text: str, option: str | None = None, **words: object) -> dict[str, Any]:
    """A nominal run of a scenario with words filled in."""
    return simulate(load_text(text.format(**words), "asked.yaml"), option)


def one_edge(rope: str, technique: str, setback_m: float, protect: str = "") -> dict[str, Any]:
    return played(ONE_EDGE, rope=rope, technique=technique, setback=setback_m, protect=protect)


def demand(document: dict[str, Any]) -> float:
    """Largest sheath demand of the working line, over its sections."""
    return max(line["sheath_demand_max"] for line in document["lines"])


def near_resonance(document: dict[str, Any]) -> bool:
    """Whether the strokes come within 10 % of a natural frequency."""
    rates = document["lines"][0]["natural_frequency_hz"].values()
    return any(abs(document["stroke_hz"] / rate - 1) < AWAY for rate in rates if rate)


def quiet_setback_m(rope: str) -> float:
    """The first setback at which neither technique meets a natural frequency."""
    for setback_m in SETBACKS_M:
        runs = [one_edge(rope, technique, setback_m) for technique in ("smooth", "jerky")]
        if not any(map(near_resonance, runs)):
            return setback_m
    raise AssertionError("no setback away from resonance: the claim cannot be put")


@pytest.mark.parametrize("rope", ROPES)
def test_jerky_climbing_costs_more_than_smooth_and_protection_saves(rope: str) -> None:
    setback_m = quiet_setback_m(rope)
    smooth = demand(one_edge(rope, "smooth", setback_m))
    jerky = demand(one_edge(rope, "jerky", setback_m))
    assert jerky > smooth
    padded = demand(one_edge(rope, "jerky", setback_m, "arris: pad"))
    rolling = demand(one_edge(rope, "jerky", setback_m, "arris: roller"))
    assert jerky > padded > rolling


@pytest.mark.parametrize("rope", ROPES)
def test_a_further_anchor_below_frees_the_edge(rope: str) -> None:
    plain = played(RE_ANCHORED, "plain", rope=rope, height=6)
    freed = played(RE_ANCHORED, "re-anchored", rope=rope, height=6)
    assert demand(freed) < demand(plain)


def test_below_the_further_anchor_the_edge_takes_no_energy_at_all() -> None:
    short, long = (played(RE_ANCHORED, "re-anchored", rope=ROPES[0], height=h) for h in (1, 6))
    assert energies(long) == energies(short), "more climbing below adds 0 J, exactly"
    assert sum(energies(played(RE_ANCHORED, "plain", rope=ROPES[0], height=6))) > sum(
        energies(played(RE_ANCHORED, "plain", rope=ROPES[0], height=1))
    )


def energies(document: dict[str, Any]) -> list[float]:
    """Friction energy at every edge of every line [J]."""
    return [edge["energy_j"] for line in document["lines"] for edge in line["edges"]]
