"""Rope is let through at a re-anchor only where that can be released, and no edge is above."""

from __future__ import annotations

from itertools import product

import pytest

from edgewear.case import compile_case
from edgewear.engine.run_job import perform
from edgewear.job.log import Kind
from edgewear.rigging import problems
from edgewear.scenario import load_text

SITE = """\
edgewear: 1
title: a line that is shifted below a re-anchor
setting: alpine
target: 30 %
anchors:
  post: {{out: {out} m, up: 1 m, kind: pair, releasable: yes}}
  ledge: {{out: 0.3 m, up: -{ledge} m, kind: pair{releasable}}}
edges: {{lip: {{out: 0 m, up: 0 m, radius: 30 mm, surface: steel}}}}
ropes: {{a: {{like: low-stretch 11, length: 90 m, stopper: yes}}}}
people: {{ann: {{mass: 95 kg}}}}
lines: {{ann: {{anchor: post, rope: a, re-anchor: [ledge]}}}}
options: {{only: {{{shift}}}}}
job: [{job}]
"""

LOOSE = ", releasable: yes"
JOBS = {
    "climbs below alone": "descend: 20 m, ascend: 9 m",
    "climbs past it": "descend: 14 m, ascend: 13.5 m",
    "climbs above alone": "descend: 4 m, ascend: 3.5 m",
    "a short climb below": "descend: 14 m, ascend: 0.3 m",
    "in rounds": "repeat: {times: 3, steps: [{descend: 14 m}, {ascend: 13 m}]}",
}
SHIFTS = [f"{by} m every {every} strokes" for by, every in product((0.1, 0.4), (2, 9))]
STEPS = {
    "above": "descend: 4 m, shift rope: 0.3 m, descend: 12 m",
    "below": "descend: 16 m, shift rope: 0.3 m",
    "above and below": "descend: 4 m, shift rope: 0.2 m, descend: 12 m, shift rope: 0.3 m",
}


BACK, PLUMB = -1.0, 0.3
"""Behind the lip, so that the line bends over it; and above the re-anchor, so that it does not."""


def read(ledge: int, job: str, shift: str, releasable: str, out: float = BACK):
    text = SITE.format(ledge=ledge, releasable=releasable, shift=shift, job=job, out=out)
    return load_text(text, "made.yaml")


def shifted_below(ledge: int, job: str, shift: str) -> bool:
    """Whether the job lets rope through at a re-anchor that can be released, with no edge above."""
    scenario = read(ledge, job, shift, LOOSE, PLUMB)
    assert problems(scenario) == []
    log = perform(scenario, compile_case(scenario, "only"), parts=False).log
    return any(e.kind is Kind.ROPE_SHIFTED and "below ledge" in e.detail for e in log)


@pytest.mark.parametrize(("what", "shift", "ledge"), list(product(JOBS, SHIFTS, (6, 9))))
def test_it_is_refused_where_the_job_would_shift_there_and_nowhere_else(what, shift, ledge) -> None:
    told = problems(read(ledge, JOBS[what], f"shift: {shift}", "", PLUMB))
    assert bool(told) == shifted_below(ledge, JOBS[what], f"shift: {shift}")
    for where, why in told:
        assert where.startswith("job/ann/")
        assert "'ledge', a re-anchor that is not releasable" in why


@pytest.mark.parametrize(("what", "ledge"), list(product(STEPS, (8, 11))))
def test_so_is_a_step_that_shifts_the_rope(what, ledge) -> None:
    told = problems(read(ledge, STEPS[what], "", "", PLUMB))
    assert bool(told) == shifted_below(ledge, STEPS[what], "") == ("below" in what)
    assert len(told) <= 1


@pytest.mark.parametrize("releasable", ["", LOOSE])
@pytest.mark.parametrize(("what", "shift", "ledge"), list(product(JOBS, SHIFTS, (6, 9))))
def test_rope_that_has_lain_over_an_edge_is_not_let_through(what, shift, ledge, releasable) -> None:
    """It brings wear from there, which only the section in use would be told of."""
    told = problems(read(ledge, JOBS[what], f"shift: {shift}", releasable))
    assert bool(told) == shifted_below(ledge, JOBS[what], f"shift: {shift}")
    for where, why in told:
        assert where.startswith("job/ann/")
        assert "'ledge', a re-anchor below 'lip': the rope that comes through" in why


@pytest.mark.parametrize(("what", "ledge"), list(product(STEPS, (8, 11))))
def test_nor_by_a_step(what, ledge) -> None:
    told = problems(read(ledge, STEPS[what], "", LOOSE))
    assert len(told) == ("below" in what)
    assert all("a re-anchor below 'lip'" in why for _, why in told)


@pytest.mark.parametrize("job", [*JOBS.values(), *STEPS.values()])
def test_nothing_is_said_of_lines_that_are_fixed_nowhere_below(job) -> None:
    text = SITE.format(ledge=6, releasable="", shift=f"shift: {SHIFTS[0]}", job=job, out=BACK)
    assert problems(load_text(text.replace(", re-anchor: [ledge]", ""), "made.yaml")) == []
