"""Who hangs on so close below an edge that harness and body give by more: why, in run and check."""

from __future__ import annotations

from contextlib import nullcontext
from types import SimpleNamespace

import numpy as np
import pytest

from edgewear.case import compile_case
from edgewear.engine.draws import quantile
from edgewear.engine.run_job import follows_rope, record_tape
from edgewear.errors import RunFailed
from edgewear.rigging import rig
from edgewear.rigging.findings.further.hanging import SELDOM, seldom_below
from edgewear.scenario import load_text
from edgewear.terms import GRAVITY_M_S2

SITE = """\
edgewear: 1
title: A person just below an edge
setting: alpine
target: 60 %
edges: {{first edge: {{radius: 5 mm, surface: steel}}, last edge: {{radius: 5 mm, surface: steel}}}}
ropes: {{red: {{like: low-stretch 11, length: 80 m}}}}
people:
  ann:
    mass: {{value: {mass} kg, low: {mass} kg, high: {mass} kg}}
    body stiffness: {{value: {kn_m} kN/m, low: {kn_m} kN/m, high: {kn_m} kN/m}}
    start: {start_mm} mm
options: {{only: {{rope: red, over: [{over}]}}}}
job: [{{descend: 5 m}}]
"""
OVER = {
    "last edge": "{edge: last edge, after: 6 m, bend: 60 deg}",
    "first edge": "{edge: last edge, after: 6 m, bend: 20 deg}, "
    "{edge: first edge, after: 2 m, bend: 30 deg}",
}
"""By the edge that is met last: bends that are given, below which rope hangs plumb."""

CASES = [(mass, kn_m) for mass in (60, 90, 140) for kn_m in (5, 10, 25)]
MARGIN = 1.001
"""On the limit itself what is left is a matter of rounding; a share of 1e-3 is no rounding."""


def site(last: str, mass: float, kn_m: float, start_m: float):
    text = SITE.format(mass=mass, kn_m=kn_m, start_mm=1000.0 * start_m, over=OVER[last])
    return load_text(text, "made.yaml")


def give_m(mass: float, kn_m: float) -> float:
    """How much a spring gives under a weight."""
    return mass * GRAVITY_M_S2 / (1000.0 * kn_m)


@pytest.mark.parametrize("last", OVER)
@pytest.mark.parametrize(("mass", "kn_m"), CASES)
def test_a_run_fails_and_is_warned_of_exactly_where_no_rope_would_be_left(mass, kn_m, last) -> None:
    """Everything exact: the weight hangs plumb below given bends, so the spring alone decides."""
    for share, left in ((1.0 / MARGIN, False), (MARGIN, True), (0.3, False), (3.0, True)):
        scenario = site(last, mass, kn_m, share * give_m(mass, kn_m))
        said = [text for text in rig(scenario, "only").warnings if "harness and body" in text]
        assert bool(said) != left
        assert all(f"of rope below {last}" in text for text in said)
        why = f"job/ann, step 1: hangs so close below {last} that"
        with nullcontext() if left else pytest.raises(RunFailed, match=why):
            record_tape(scenario, compile_case(scenario, "only"))


DRAWN = [(4.0, 5.0, 6.0), (2.0, 5.0, 8.0), (0.5, 5.0, 15.0), (8.0, 10.0, 30.0), (3.0, 3.0, 3.0)]


@pytest.mark.parametrize("distribution", ["normal", "lognormal", "uniform", "triangular"])
@pytest.mark.parametrize(("low", "value", "high"), DRAWN)
def test_what_is_seldom_below_is_what_so_few_draws_are(distribution, low, value, high) -> None:
    """Held against the engine's own draws: of 256 one lies there, of a range with ends none."""
    given = SimpleNamespace(distribution=distribution, value=value, low=low, high=high)
    share = 1.0 / SELDOM if distribution in ("normal", "lognormal") else 0.0
    drawn = quantile(distribution, value, low, high, np.array([share]))[0]
    assert seldom_below(given) == pytest.approx(drawn, rel=1e-9)  # rounding of another formula


@pytest.mark.parametrize(("mass", "low", "middle"), [(60, 6, 10), (90, 5, 10), (110, 12, 20)])
@pytest.mark.parametrize("share", [0.9, 1.1])
def test_a_few_trials_that_would_fail_are_warned_of(mass, low, middle, share) -> None:
    """One trial of 256 is softer than that by the normal distribution's tables: z = 2.66."""
    text = SITE.format(mass=mass, kn_m=middle, start_mm=0, over=OVER["last edge"])
    ends = f"low: {low} kN/m, high: {2 * middle - low} kN/m"
    text = text.replace(f"low: {middle} kN/m, high: {middle} kN/m", ends)
    softest = max(middle - (middle - low) * 2.66 / 1.645, 0.1 * low)
    start = f"start: {1000.0 * share * give_m(mass, softest)} mm"
    rigged = rig(load_text(text.replace("start: 0 mm", start), "made.yaml"), "only")
    said = [one for one in rigged.warnings if "harness and body" in one]
    assert bool(said) == (share < 1.0)


@pytest.mark.parametrize(("mass", "kn_m"), CASES)
@pytest.mark.parametrize(("share", "told"), [(1.05, False), (1.5, True)])
def test_what_is_possible_is_not_given_up_for_a_heavier_person_who_could_not(
    share, told, mass, kn_m
) -> None:
    """Whether the course follows the rope is asked of somebody a tenth heavier."""
    scenario = site("last edge", mass, kn_m, share * give_m(mass, kn_m))
    case = compile_case(scenario, "only")
    assert follows_rope(scenario, case, record_tape(scenario, case)) != told


PLACED = """\
edgewear: 1
title: A ledge just above where somebody crosses an edge
setting: alpine
target: 60 %
anchors: {{post: {{out: {behind} m, up: 0.5 m, kind: pair}}}}
edges:
  lip: {{out: 0 m, up: 0 m, radius: 10 mm, surface: steel}}
  ledge: {{out: 1 m, up: {up} m, radius: 10 mm, surface: steel}}
ropes: {{red: {{like: low-stretch 11, length: 80 m}}}}
people: {{ann: {{mass: 90 kg}}}}
lines: {{ann: {{anchor: post, rope: red}}}}
options: {{only: {{}}}}
job: {job}
"""
CROSSES, STAYS = "{cross edge: lip}", "{descend: 1 m}, {ascend: 0.5 m}"
JOBS = {
    f"[{CROSSES}, {STAYS}]": "step 1",
    f"[{{rest: 1 min}}, {CROSSES}, {STAYS}]": "step 2",
    f"[{{step: repeat, times: 2, steps: [{{rest: 1 min}}, {CROSSES}, {STAYS}]}}]": "step 1",
}
"""Jobs that cross the lip, and hang 1.5 m below it, with the step that does."""


@pytest.mark.parametrize("job", JOBS)
@pytest.mark.parametrize("behind", [-3, -18])
@pytest.mark.parametrize(
    ("up", "near"), [(-1.4, True), (-1.38, True), (-1.0, False), (-0.4, False)]
)
def test_a_ledge_just_above_where_an_edge_is_crossed_is_warned_of(up, near, behind, job) -> None:
    """Harness and body may give 0.18 m: 10 cm below the ledge is too close, half a metre not."""
    scenario = load_text(PLACED.format(up=up, behind=behind, job=job), "made.yaml")
    said = [text for text in rig(scenario, "only").warnings if "harness and body" in text]
    assert len(said) == near
    assert all("of rope below ledge" in text and f"at {JOBS[job]} ann" in text for text in said)
