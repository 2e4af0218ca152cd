"""Which faults are put into a procedure, and when: alone, in pairs, at every step."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations
from typing import TYPE_CHECKING, NamedTuple

from edgewear.job.faults import FROM_THE_START, Injected
from edgewear.scenario.models import faults as typed
from edgewear.scenario.models.steps import Repeat, Step
from edgewear.scenario.models.walking import first_and_last

DRAWN = -1
"""Tick of a fault whose time is drawn, given that it falls into the job."""

if TYPE_CHECKING:
    from edgewear.scenario.models.scenario import Line, Option, Scenario


class Wanted(NamedTuple):
    """A combination of faults and what it is for."""

    faults: tuple[Injected, ...]
    person: str = ""  # table: whose step
    step: int = 0  # table: its number; 0: not of the table

    @property
    def inside(self) -> str:
        """The step inside a repeat that they come with, in words."""
        return self.faults[0].words if self.step else ""

    @property
    def names(self) -> tuple[str, ...]:
        """Names of its faults."""
        return tuple(one.name for one in self.faults)


def wanted(scenario: Scenario, option: str) -> list[Wanted]:
    """Nothing wrong, every fault alone, every pair, and every fault at every step."""
    faults = faults_of(scenario, option)
    alone = [_as_planned(name, fault) for name, fault in faults.items()]
    return [
        Wanted(()),
        *(Wanted((one,)) for one in alone),
        *(Wanted(pair) for pair in combinations(alone, 2)),
        *_table(scenario, faults),
    ]


def _as_planned(name: str, fault: typed.Fault) -> Injected:
    """A fault with its own trigger; where that is a rate, at a time drawn within the job."""
    return Injected(name, fault, tick=DRAWN if fault.rate is not None else None)


def faults_of(scenario: Scenario, option: str) -> Mapping[str, typed.Fault]:
    """The scenario's own faults; where it names none, what every procedure should be held to."""
    if scenario.faults:
        return scenario.faults
    return dict(_usual(scenario, scenario.options[option]))


def _usual(scenario: Scenario, option: Option) -> Iterator[tuple[str, typed.Fault]]:
    """Protection off each edge, rain, each person jerky or heavier, each fixed point of a working
    line gone, nobody looking."""
    protected = {
        edge
        for both in option.lines.values()
        for line in (both.working, both.safety)
        if line is not None
        for edge in line.protect
    }
    for edge in scenario.edges:
        if edge in protected:
            yield f"{edge}: protection displaced", typed.ProtectionDisplaced(edge=edge)
    yield "rain", typed.Weather(weather="wet")
    for person in option.lines:
        if person in option.people and person != "machine":
            yield f"{person} moves jerkily", typed.JerkyPerson(person=person)
            yield f"{person} is heavier", typed.HeavierPerson(person=person)
    yield from _fixed_points([both.working for both in option.lines.values()])
    yield "nobody at the edge", typed.AttendantAway()


def _fixed_points(working: Sequence[Line]) -> Iterator[tuple[str, typed.Fault]]:
    """Each anchor, re-anchor and deviation that somebody hangs on, gone."""
    held = {name: None for line in working for name in (line.anchor, *line.re_anchor)}
    for anchor in held:
        if anchor is not None:
            yield f"{anchor} fails", typed.AnchorFails(anchor=anchor)
    led = {deviation.anchor: None for line in working for deviation in line.deviations}
    for anchor in led:
        if anchor not in held:
            yield f"{anchor} fails", typed.DeviationFails(anchor=anchor)


def _table(scenario: Scenario, faults: Mapping[str, typed.Fault]) -> Iterator[Wanted]:
    """Every fault with every step it can come with; a person's own fault with their steps only.

    In a repeat with every step of its first round and of its last.
    """
    for name, fault in faults.items():
        if isinstance(fault, FROM_THE_START):
            continue
        concerned = getattr(fault, "person", None)
        for person, steps in scenario.job.items():
            if concerned in (None, person):
                for number, step in enumerate(steps, start=1):
                    one = Injected(name, fault, person, number)
                    yield Wanted((one,), person, number)
                    for later in _inside(one, step):
                        yield Wanted((later,), person, number)


def _inside(one: Injected, step: Step) -> Iterator[Injected]:
    """Give a fault with each step of a repeat's first and last round, the very first left out."""
    from edgewear.job.build import words

    if not isinstance(step, Repeat):
        return
    for at in first_and_last(step):
        if at.made:
            turn = ".".join(map(str, at.turns))
            told = f"round {turn} of {step.times}, {words(at.step)}"
            yield one._replace(inside=at.made, words=told)
