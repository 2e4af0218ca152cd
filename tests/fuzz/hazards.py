"""How bad an option is found to be, as numbers that may only grow when a hazard does."""

from __future__ import annotations

from math import inf
from typing import Any

from edgewear.rigging.findings.facts import facts
from edgewear.scenario import Scenario, load_text

TWO_LINES = """\
edgewear: 1
title: Two lines over a kerb
setting: industrial
anchors:
  posts: {out: 3 m back, up: 0.5 m, strength: 20 kN}
  beam: {out: 3 m back, along: 1 m, up: 0.5 m, strength: 20 kN}
edges:
  kerb: {out: 0 m, up: 0 m, radius: 6 mm, surface: concrete}
ropes:
  rope: {like: low-stretch 11, length: 60 m, stopper: yes}
people:
  worker: {mass: 100 kg}
options:
  covered:
    rope: rope
    anchor: posts
    protect: {kerb: edge plate}
    safety line:
      anchor: beam
      slack: 0.2 m
      backup: {is: slipping backup, slips: 4 kN, arrest: 0.6 m}
      protect: {kerb: edge plate}
below: {ground: 30 m down}
job:
  - cross edge: kerb
  - descend: 20 m
  - work: 10 min
"""


def scenario(values: dict[str, str]) -> Scenario:
    """The two lines with some inputs typed otherwise."""
    return load_text(TWO_LINES, "two.yaml").with_values(values)


def badness(found: Scenario) -> dict[str, float]:
    """Everything that a catch and single failures come to; what has no end is infinite."""
    from edgewear.findings.plain import plain
    from edgewear.rigging import single_failures

    told = facts(found, "covered")
    bad: dict[str, float] = {}
    for one in told.transfers:
        bad["drop"] = max(bad.get("drop", 0.0), _or_inf(one.drop_m))
        bad["careful drop"] = max(bad.get("careful drop", 0.0), _or_inf(one.drop_careful_m))
        bad["careful peak"] = max(bad.get("careful peak", 0.0), _or_inf(one.peak_careful_n))
        for name, gap in one.clearance_m.items():
            bad[f"room above {name}"] = inf if gap is None else -gap
    bad["catches above a limit"] = len({one["figure"] for one in told.catches})
    for bears in plain(told.bears):
        key = f"{bears['name']} {bears['unit']} {bears['case']}"
        bad[key] = max(bad.get(key, 0.0), _share(bears))
    for row in single_failures(found, "covered", "worker", {3: 20.0}):
        bad[f"limits of {row.component}"] = len(row.above)
        bad[f"{row.component} at {row.step}"] = {True: 0.0, None: 1.0, False: 2.0}[row.holds]
    return bad


def _or_inf(value: float | None) -> float:
    return inf if value is None else value


def _share(bears: dict[str, Any]) -> float:
    return _or_inf(bears["load"]) / bears["most"]
