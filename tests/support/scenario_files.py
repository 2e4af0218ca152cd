"""Scenario files that the tests of this room share."""

from __future__ import annotations

from pathlib import Path

from edgewear.scenario import Scenario, load_text

HERE = Path(__file__).parents[1] / "scenario"
ROOT = HERE.parent.parent
SHIPPED = sorted((ROOT / "scenarios").glob("*.yaml"))
EXAMPLES = sorted((HERE / "examples").glob("*.txt"))

BENCH = """\
edgewear: 1
title: Bench
setting: test
edges:
  arris: {radius: 1 mm, surface: steel}
ropes:
  rope: {like: low-stretch 11, length: 80 m}
people:
  climber: {mass: 90 kg, technique: jerky, start: 8 m}
options:
  bare: {rope: rope, over: [{edge: arris, after: 20 m, bend: 30 deg}]}
job:
  - ascend: 5 m
"""


def bench(*changes: tuple[str, str], setting: str = "test") -> Scenario:
    """Read the bench with some of its text replaced; each old text must be there."""
    text = BENCH.replace("setting: test", f"setting: {setting}")
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return load_text(text, "bench.yaml")
