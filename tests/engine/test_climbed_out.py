"""A climb up to a given bend: check and run say where no rope is left below it, and how much is.

The rope of length s below the bend hangs l = s*(1 + W/K) + W/k under the weight W, K the rope's
stiffness and k that of harness and body. Who took to it l below the edge climbs s, and no more.
"""

from __future__ import annotations

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import edgewear
from edgewear.errors import ScenarioError
from edgewear.python.results import Results
from edgewear.rigging import rig
from edgewear.rigging.laying import drawn_m
from edgewear.scenario import load_text
from edgewear.study.compare import compare

TEXT = """\
edgewear: 1
title: a climb right up to the edge
setting: test
target: 50 %
edges: {{arris: {{radius: 10 mm, surface: steel}}}}
ropes: {{rope: {{like: low-stretch 11, length: 80 m}}}}
people: {{ann: {{mass: {mass} kg, technique: {technique}, start: {start} m}}}}
options: {{one: {{rope: rope, over: [{{edge: arris, after: {after} m, bend: {bend} deg}}]}}}}
job: {job}
"""
GRAVITY_M_S2 = 9.80665


def site(start: float, climbs: str, mass: float = 90.0, **more: object) -> str:
    usual = {"technique": "normal", "after": 5, "bend": 60, **more}
    return TEXT.format(start=start, job=climbs, mass=mass, **usual)


def given_way_m(text: str) -> float:
    """How much shorter the rope below the edge is than it hangs, by hand."""
    scenario = (
        load_text(site(3, "[{ascend: 1 m}]"), "made") if not text else load_text(text, "made")
    )
    rope, who = scenario.ropes["rope"], scenario.options["one"].people["ann"]
    weight = who.mass.value * GRAVITY_M_S2
    stiffness = rope.stiffness.value * rope.stiffness_factor.value * rope.dynamic_ratio.value
    hung = scenario.people["ann"].start.value
    slack = (hung - weight / who.body_stiffness.value) / (1.0 + weight / stiffness)
    return hung - slack


@given(st.floats(0.5, 300.0), st.floats(0.0, 0.3), st.floats(0.0, 0.4))
def test_what_is_drawn_and_what_is_left_make_up_what_hangs(hung, strain, give):
    slack = hung - drawn_m(hung, strain, give)
    assert slack * (1.0 + strain) + give == pytest.approx(hung, rel=1e-12)


WAYS = [(3.0, 80.0), (6.0, 90.0), (12.5, 110.0), (30.0, 70.0)]


@pytest.mark.parametrize(("start", "mass"), WAYS)
@pytest.mark.parametrize("short", [0.0, 0.05, 0.9])
def test_a_climb_past_the_rope_that_is_there_is_refused_by_place(start, mass, short):
    """Right up to the edge, 5 cm below it, and at nine tenths of what rope and harness give."""
    gives = given_way_m(site(start, "[{rest: 1 min}]", mass))
    above = short if short < 0.5 else short * gives
    text = site(start, f"[{{ascend: {start - above:.4f} m}}]", mass)
    with pytest.raises(ScenarioError) as refused:
        edgewear.load(text)
    [problem] = refused.value.problems
    assert problem.address == "job/1/ascend"
    assert f"ends {above:.2f} m below 'arris', and no rope is left there" in problem.message
    assert f"give by {gives:.2f} m" in problem.message
    most = float(re.search(r"climb at most ([\d.]+) m", problem.message)[1])
    assert start - gives - 0.1 <= most <= start - gives + 1e-9  # whole decimetres, downwards


@pytest.mark.parametrize(("start", "mass"), WAYS)
@pytest.mark.parametrize("technique", ["smooth", "normal", "jerky"])
def test_as_far_as_it_says_a_climb_is_computed_and_leaves_rope(start, mass, technique):
    most = np.floor(10 * (start - given_way_m(site(start, "[{rest: 1 min}]", mass)))) / 10
    done = edgewear.load(site(start, f"[{{ascend: {most:g} m}}]", mass, technique=technique)).run()
    state = done.done.player.state(0)[0]
    assert state["span_m"][int(state["count"])] > 0.0
    assert done.outcome()["energy_residual"] < 1e-3


ROUNDS = "[{repeat: {times: 2, steps: [{descend: 1 m}, {ascend: 5 m}]}}]"


@pytest.mark.parametrize("job", ["[{descend: 4 m}, {ascend: 12 m}]", ROUNDS])
def test_a_climb_after_others_is_counted_from_where_they_end(job):
    with pytest.raises(ScenarioError, match="no rope is left there"):
        edgewear.load(site(8.0, job))


@pytest.mark.parametrize("left", [0.05, 0.1])
@pytest.mark.parametrize("start", [6.0, 30.0])
def test_where_a_softer_rope_would_leave_none_it_is_remarked_on(left, start):
    climb = start - given_way_m(site(start, "[{rest: 1 min}]")) - left
    scenario = load_text(site(start, f"[{{ascend: {climb:.4f} m}}]"), "made")
    said = [one for one in rig(scenario, "one").warnings if "no rope would be left" in one]
    assert len(said) == 1
    assert "step 1 ends" in said[0]
    far = load_text(site(start, f"[{{ascend: {climb - 0.1 * start:.4f} m}}]"), "made")
    assert not [one for one in rig(far, "one").warnings if "no rope would be left" in one]


def test_a_trial_that_leaves_none_says_so_in_words(tmp_path):
    """Of a soft rope and a long way the energy does not close: what of the job does it is said."""
    climb = 30.0 - given_way_m(site(30.0, "[{rest: 1 min}]"))
    (tmp_path / "job.yaml").write_text(site(30.0, f"[{{ascend: {climb - 0.01:.4f} m}}]"))
    ranking = compare(tmp_path / "job.yaml", 32, 0, workers=1, out=tmp_path / "out")
    results = Results.of(ranking.dataset)
    told = results.runs[results.runs["status"] == "failed"]["reason"]
    assert len(told) > 0
    assert told.str.contains("no rope is left there|was given up").all()
    assert told.str.contains("below arris, and no rope is left there").any()
    assert not told.str.contains("energy").any()
