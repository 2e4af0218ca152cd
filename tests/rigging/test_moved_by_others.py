"""Whom others haul or lower while they wait is as deep as if they had gone there themselves."""

from __future__ import annotations

import random

import pytest

from edgewear.rigging.profile import profile
from edgewear.rigging.sections import last_m
from edgewear.rigging.survey import placed_edges
from edgewear.scenario.models import steps
from support import site


def event(name):
    return steps.Event(name=name)


def wait(name):
    return steps.WaitFor(name=name)


def profile_of(job):
    option = site.option(site.line("post"))
    scenario = site.scenario(
        {"only": option}, job=job, anchors={"post": site.anchor(-5.0, 0.0)},
        edges={"coping": site.edge(0.0, 0.0)},
    )  # fmt: skip
    return profile(
        scenario, option, "lead", placed_edges(scenario), last_m(scenario, option, "lead")
    )


def jobs(dice, unsaid):
    """The same way down: with what others do while the lead waits, and with all of it their own.

    `unsaid`: of how many hauls at the end of it no wait says when they come.
    """
    own, lead, others = [site.cross("coping")], [site.cross("coping")], []
    for turn in range(dice.randint(1, 4)):
        for _ in range(dice.randint(0, 2)):
            step = dice.choice([site.descend, site.ascend])(dice.choice([1.0, 2.5, 4.0]))
            own.append(step), lead.append(step)
        ready, done = f"ready {turn}", f"done {turn}"
        lead.append(event(ready)), others.append(wait(ready))
        for _ in range(dice.randint(0, 2)):
            height, up = dice.choice([0.5, 3.0, 7.0]), dice.random() < 0.4
            others.append((site.haul if up else site.lower)(height, "lead"))
            own.append((site.ascend if up else site.descend)(height))
            others += [site.rest(60.0)] * dice.randint(0, 1)
        others.append(event(done)), lead.append(wait(done))
        rest = site.rest(600.0)
        own.append(rest), lead.append(rest)
    for _ in range(unsaid):
        others.append(site.haul(2.0, "lead")), own.append(site.ascend(2.0))
    return {"lead": tuple(own)}, {"lead": tuple(lead), "second": tuple(others)}


@pytest.mark.parametrize("unsaid", [0, 1])
@pytest.mark.parametrize("seed", range(100))
def test_depths_are_those_of_the_same_way_on_ones_own(seed, unsaid) -> None:
    own, waited = jobs(random.Random(f"{seed}-{unsaid}"), unsaid)
    alone, together = profile_of(own), profile_of(waited)
    for field in ("start_m", "highest_m", "deepest_m", "end_m"):
        assert getattr(together, field) == pytest.approx(getattr(alone, field))  # sums in turn
    assert [one.depth_m for one in together.stays] == pytest.approx(
        [one.depth_m for one in alone.stays]
    )
    # whoever is lowered from above lets out the rope that they go down on, hauled it comes in
    moved = sum(
        (1 if isinstance(step, steps.Lower) else -1) * step.height.value
        for step in waited["second"]
        if isinstance(step, steps.Haul | steps.Lower)
    )
    assert together.drawn[-1][-1].out_m == pytest.approx(moved)
    assert together.drawn[-1][-1].depth_m == pytest.approx(alone.end_m)


def test_whoever_waits_for_each_other_is_taken_to_be_moved_last() -> None:
    """Such a job is refused elsewhere; until then no depth may depend on it."""
    job = {
        "lead": (site.cross("coping"), wait("b"), site.descend(5.0), event("a")),
        "second": (wait("a"), site.lower(3.0, "lead"), event("b")),
    }
    assert profile_of(job).end_m == pytest.approx(1.5 + 5.0 + 3.0)
