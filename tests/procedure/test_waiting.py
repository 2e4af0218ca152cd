"""Nobody goes on past an event that a casualty can no longer give."""

from __future__ import annotations

from itertools import pairwise

import pytest

from edgewear.job.log import Entry, Kind
from edgewear.procedure.rescue_ways.waiting import halted_with
from edgewear.scenario.models import steps as planned


class Planned:
    """All that is asked of a scenario."""

    def __init__(self, **job) -> None:
        self.job = job


def chain(people: int):
    """p0 works and gives e0; each next waits for the event before it, works and gives their own."""
    job, log = {}, []
    for n in range(people):
        waits = [planned.WaitFor(name=f"e{n - 1}")] if n else []
        rest = planned.Rest.model_construct()
        job[f"p{n}"] = (*waits, rest, planned.Event(name=f"e{n}"))
    for n in range(people):
        who, steps = f"p{n}", job[f"p{n}"]
        for number, step in enumerate(steps, start=1):
            begun = 0 if isinstance(step, planned.WaitFor) else n
            log.append(Entry(begun, who, Kind.BEGINS, number))
            if isinstance(step, planned.Event):
                log.append(Entry(n + 1, who, Kind.EVENT, number, step.name))
            ends = n if isinstance(step, planned.WaitFor) else n + 1
            log.append(Entry(ends, who, Kind.ENDS, number))
    return Planned(**job), tuple(sorted(log, key=lambda e: e.tick))


def ended(log, who) -> int:
    return sum(e.kind is Kind.ENDS and e.who == who for e in log)


def at_rest(log, scenario, who) -> int:
    number = 1 + any(isinstance(s, planned.WaitFor) for s in scenario.job[who])
    return next(k for k, e in enumerate(log)
                if (e.who, e.kind, e.step) == (who, Kind.ENDS, number))  # fmt: skip


@pytest.mark.parametrize("people", [2, 3, 5])
@pytest.mark.parametrize("hurt", [0, 1, 4])
def test_whoever_waits_for_a_casualty_waits_on_and_so_do_those_behind_them(people, hurt) -> None:
    if hurt >= people:
        return
    scenario, log = chain(people)
    cut = halted_with(log, scenario, f"p{hurt}", at_rest(log, scenario, f"p{hurt}"))
    for n in range(people):
        whole = len(scenario.job[f"p{n}"])
        expected = whole if n < hurt else whole - 1 if n == hurt else 0
        assert ended(cut, f"p{n}") == expected, n
    assert [e for e in log if e in cut] == list(cut)
    assert all(a.tick <= b.tick for a, b in pairwise(cut))


def test_an_event_given_before_somebody_is_hurt_keeps_nobody_waiting() -> None:
    scenario, log = chain(3)
    last = max(k for k, e in enumerate(log) if e.who == "p0")
    assert halted_with(log, scenario, "p0", last) == log


@pytest.mark.parametrize(("tick", "goes_on"), [(0, True), (9, False)])
def test_who_else_gives_the_event_in_time_lets_them_go_on(tick, goes_on) -> None:
    scenario, log = chain(2)
    scenario.job["other"] = (planned.Event(name="e0"),)
    log = tuple(sorted([Entry(tick, "other", Kind.EVENT, 1, "e0"), *log], key=lambda e: e.tick))
    cut = halted_with(log, scenario, "p0", at_rest(log, scenario, "p0"))
    assert (ended(cut, "p1") == 3) is goes_on
