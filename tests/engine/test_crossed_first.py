"""A start that is typed counts only where somebody begins on their line, and not by crossing."""

from __future__ import annotations

import pytest

from edgewear.case import compile_case
from edgewear.engine.run_job import perform
from edgewear.job.log import Kind
from edgewear.rigging import rig
from edgewear.scenario import load_text
from edgewear.scenario.summaries import summary

SITE = """\
edgewear: 1
title: Where somebody begins
setting: alpine
target: 60 %
anchors: {{post: {{out: -4 m, up: 0.5 m, kind: pair}}}}
edges: {{lip: {{{lies} radius: 8 mm, surface: steel}}}}
ropes: {{red: {{like: low-stretch 11, length: 80 m}}}}
people: {{ann: {{mass: 90 kg{start}}}}}
lines: {{ann: {{{line}, rope: red}}}}
options: {{only: {{}}}}
job: [{steps}{{descend: 6 m}}]
"""
PLACED = [(f"out: 0 m, up: {up} m,", "anchor: post", -up) for up in (-2.0, -0.5, 0.0, 0.4)]
GIVEN = ("", "over: [{edge: lip, after: 4 m, bend: 70 deg}]", 0.0)
"""How the edge lies, how the line runs, and the depth of the edge [m]."""

STARTS = [0.5, 1.5, 4.0, 9.0]
BEFORE = ["", "{rest: 1 min}, ", "{inspect: {by: ann}}, {event: ready}, "]
"""Steps that hang nobody on a line."""


def site(place, steps: str, start_m: float | None):
    lies, line, _ = place
    start = "" if start_m is None else f", start: {start_m} m"
    return load_text(SITE.format(lies=lies, line=line, steps=steps, start=start), "made.yaml")


def first_hung_m(scenario) -> float:
    """Where the run itself first hangs somebody on a line [m]."""
    log = perform(scenario, compile_case(scenario, "only")).log
    return next(entry.value for entry in log if entry.kind is Kind.HANGS_ON)


@pytest.mark.parametrize("place", [*PLACED, GIVEN])
@pytest.mark.parametrize("before", BEFORE)
@pytest.mark.parametrize("start_m", [None, *STARTS])
def test_who_crosses_onto_their_line_hangs_below_that_edge_whatever_is_typed(
    start_m, before, place
) -> None:
    """1.5 m below it, by the reference; the run, the rigging and what is said agree."""
    scenario = site(place, f"{before}{{cross edge: lip}}, ", start_m)
    begins_m = place[2] + 1.5
    assert first_hung_m(scenario) == pytest.approx(begins_m, abs=1e-12)  # sums of a few metres
    assert rig(scenario, "only").starts_m["ann"] == pytest.approx(begins_m, abs=1e-12)
    [said] = [text for text in summary(scenario) if text.strip().startswith("ann: ")]
    told = "not used: the job begins by crossing lip"
    assert (told in said) == (start_m is not None)
    assert "starts" not in said


@pytest.mark.parametrize("place", [*PLACED, GIVEN])
@pytest.mark.parametrize("before", BEFORE)
@pytest.mark.parametrize("start_m", STARTS)
def test_who_begins_on_their_line_begins_where_they_say(start_m, before, place) -> None:
    scenario = site(place, f"{before}{{descend: 1 m}}, ", start_m)
    begins_m = place[2] + start_m
    assert first_hung_m(scenario) == pytest.approx(begins_m, abs=1e-12)
    assert rig(scenario, "only").starts_m["ann"] == pytest.approx(begins_m, abs=1e-12)
    [said] = [text for text in summary(scenario) if text.strip().startswith("ann: ")]
    assert "starts" in said
    assert "not used" not in said
