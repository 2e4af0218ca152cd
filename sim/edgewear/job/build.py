"""From a scenario's steps to a job: one class a step, everything resolved once."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from edgewear.case import Case
from edgewear.errors import UsageError
from edgewear.job import steps as do
from edgewear.job.job import Plan
from edgewear.job.worker import Station
from edgewear.rigging.profile import BELOW_CROSSED_EDGE_M
from edgewear.scenario import steps as typed
from edgewear.scenario.models import Scenario

STANDS_UP_S = 0.5
"""Time in which a machine or a haul reaches its speed [s]; assumed."""

HAUL_SPEED_M_S = 0.1
"""Speed of a haul or a lower where nothing is said [m/s]; assumed."""


def plan(scenario: Scenario, case: Case, person: str) -> Plan:
    """A person's steps with their words; hangs on first where no step does."""
    builder = Builder(scenario, case, person)
    own = scenario.job.get(person, ())
    steps = [(words(step), builder.step(step)) for step in own]
    if not own or not isinstance(own[0], typed.CrossEdge):
        start = do.HangOn(case.rigged.starts_m[person])
        return [(words(own[0]), _Both(start, steps[0][1])), *steps[1:]] if own else []
    return steps


def stations(case: Case, person: str, role: str = "working line") -> tuple[Station, ...]:
    """The sections of a person's line, from the top."""
    return tuple(
        Station(row, s.line, s.top_m, s.bottom_m)
        for row, s in enumerate(case.rigged.sections)
        if (s.person, s.role) == (person, role)
    )


def words(step: typed.Step) -> str:
    """A step in a few words for logs: its name and what was typed for it."""
    for field in ("height", "for_", "by", "edge", "anchor", "name", "person"):
        value = getattr(step, field, None)
        if value is not None:
            return f"{step.step} {getattr(value, 'typed', value)}"
    return f"{step.step} {step.times} times" if isinstance(step, typed.Repeat) else step.step


class _Both:
    """Two steps as one, where the plan needs something before the first."""

    def __init__(self, first: do.Step, then: do.Step) -> None:
        self.first, self.then = first, then

    def perform(self, worker: Any) -> Any:
        yield from self.first.perform(worker)
        yield from self.then.perform(worker)


class Builder:
    """Turns the steps of one person into what they do."""

    def __init__(self, scenario: Scenario, case: Case, person: str) -> None:
        self.scenario, self.case, self.person = scenario, case, person
        self._makers: dict[type, Callable[[Any], do.Step]] = {
            typed.Ascend: self._ascend,
            typed.Descend: self._descend,
            typed.Work: self._work,
            typed.CrossEdge: self._cross,
            typed.LowerUnloaded: lambda s: do.LowerUnloaded(s.height.value),
            typed.Rest: lambda s: do.Rest(s.for_.value),
            typed.Inspect: self._inspect,
            typed.Repeat: lambda s: do.Repeat(s.times, tuple(self.step(i) for i in s.steps)),
            typed.Reciprocate: self._reciprocate,
            typed.Haul: lambda s: self._feed(s, s.height.value),
            typed.Lower: lambda s: self._feed(s, -s.height.value),
            typed.ShiftRope: lambda s: self._feed(s, -s.by.value),
        }

    def step(self, step: typed.Step) -> do.Step:
        """Make one step.

        Raises:
            UsageError: a step that cannot be simulated.
        """
        maker = self._makers.get(type(step))
        if maker is None:
            known = ", ".join(sorted(t.model_fields["step"].default for t in self._makers))
            raise UsageError(f"step {step.step!r} cannot be simulated; these can: {known}")
        return maker(step)

    def _ascend(self, step: typed.Ascend) -> do.Step:
        return do.Ascend(step.height.value, step.technique)

    def _descend(self, step: typed.Descend) -> do.Step:
        return do.Descend(step.height.value)

    def _work(self, step: typed.Work) -> do.Step:
        usual = self.scenario.work
        values = (
            (step.bounce or usual.bounce).value,
            (step.bounce_rate or usual.bounce_rate).value,
            (step.sway or usual.sway).value,
            (step.sway_rate or usual.sway_rate).value,
            (step.tool or usual.tool).value,
        )
        return do.WorkInPlace(step.for_.value, *values)

    def _cross(self, step: typed.CrossEdge) -> do.Step:
        lasting = step.for_ or self.scenario.times.cross_edge
        return do.CrossEdge(step.edge, self._below(step.edge), lasting.value)

    def _below(self, edge: str) -> float:
        """Depth at which a person hangs who has crossed an edge [m]."""
        start = self.scenario.edges[edge].start_m
        return BELOW_CROSSED_EDGE_M - (start[2] if start else 0.0)

    def _inspect(self, step: typed.Inspect) -> do.Step:
        lasting = step.for_ or self.scenario.times.inspect
        return do.Inspect(step.by or self.person, lasting.value)

    def _reciprocate(self, step: typed.Reciprocate) -> do.Step:
        return do.Feed(
            step.travel.value, step.speed.value, STANDS_UP_S, step.cycles, step.load.value
        )

    def _feed(self, step: Any, length_m: float) -> do.Step:
        speed = getattr(step, "speed", None)
        return do.Feed(length_m, speed.value if speed else HAUL_SPEED_M_S, STANDS_UP_S)
