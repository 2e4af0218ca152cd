"""From a scenario's steps to a job: one class a step, everything resolved once."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Any

from edgewear.case import Case
from edgewear.errors import ScenarioError, UsageError
from edgewear.job import steps as do
from edgewear.job.account import Habits
from edgewear.job.chance import Chance, Nominal
from edgewear.job.job import Plan
from edgewear.job.worker import Station
from edgewear.rigging.knots import knots_of
from edgewear.rigging.lengths import free_fall_m
from edgewear.rigging.problems import kit_problems
from edgewear.rigging.profile import crossed_m
from edgewear.rigging.survey import middle
from edgewear.scenario.models import steps as typed
from edgewear.scenario.models.base import Closed
from edgewear.scenario.models.scenario import Scenario
from edgewear.scenario.read.reading import problems_at
from edgewear.scenario.text.quantities import Measured
from edgewear.scenario.working import beats, ways
from edgewear.terms import HAUL_SPEED_M_S, SAFETY, STANDS_UP_S, WORKING

NOMINAL = Nominal()
"""Nothing is left to chance."""


def plan(scenario: Scenario, case: Case, person: str, chance: Chance = NOMINAL) -> Plan:
    """A person's steps with their words.

    Parameters:
        chance: draws how long things take where that has a range.
    """
    builder = Builder(scenario, case, person, chance)
    return [(words(step), builder.step(step)) for step in scenario.job.get(person, ())]


def stations(case: Case, person: str, role: str = WORKING) -> tuple[Station, ...]:
    """The sections of a person's line, from the top; those held ready for a fault left out."""
    held_ready = {instead for _, _, instead in case.fallbacks}
    return tuple(
        station(case, row)
        for row, s in enumerate(case.rigged.sections)
        if (s.person, s.role) == (person, role) and row not in held_ready
    )


def station(case: Case, row: int) -> Station:
    """One section as a station."""
    s = case.rigged.sections[row]
    led = tuple((e.name, -e.start_m[2]) for e in s.edges if e.kind == "deviation")
    return Station(row, s.line, s.top_m, s.bottom_m, s.anchor, led, knots_of(s))


def habits(
    scenario: Scenario, case: Case, person: str, mass_kg: float, chance: Chance = NOMINAL
) -> Habits:
    """What a person is used to, from the scenario.

    Parameters:
        mass_kg: of the person in this run.
        chance: draws how long they take to pass a fixed point.
    """

    def lasting(what: str, usual: Measured) -> float:
        return max(chance.value(f"{what} of {person}", usual), 0.0)

    option = scenario.options[case.option]
    who, times = option.people[person], scenario.times
    lines = option.lines.get(person)
    if lines is None:  # helps from above
        return Habits(technique=who.technique.name, mass_kg=mass_kg)
    shift, rope = lines.working.shift, scenario.ropes[lines.working.rope]
    explicit = any(isinstance(s, typed.PassDeviation) for s in scenario.job.get(person, ()))
    return Habits(
        technique=who.technique.name,
        mass_kg=mass_kg,
        tires=who.technique.fatigue.value,
        passing_s=lasting("passing a re-anchor", times.pass_re_anchor),
        deviation_s=0.0 if explicit else lasting("passing a deviation", times.pass_deviation),
        knot_s=lasting("passing a knot", times.pass_knot) if lines.working.knots else 0.0,
        **({"free_fall_m": free_fall_m(lines.safety)} if lines.safety is not None else {}),
        shift_m=shift.by.value if shift is not None else 0.0,
        shift_every=shift.every if shift is not None else 0,
        shift_s=lasting("shifting the rope", times.shift_rope),
        stopper=rope.stopper is not False,
    )


def check_kit(scenario: Scenario, case: Case) -> None:
    """Refuse a job that begins with more kit in place than there is.

    Raises:
        ScenarioError: naming the kind and the edges.
    """
    if found := kit_problems(scenario, scenario.options[case.option], case.rigged.sections):
        raise ScenarioError(problems_at(scenario, found))


def words(step: typed.Step) -> str:
    """A step in a few words for logs: its name and what was typed for it."""
    for field in _telling(type(step)):
        value = getattr(step, field)
        if value is not None:
            return f"{step.step} {getattr(value, 'typed', value)}"
    return f"{step.step} {step.times} times" if isinstance(step, typed.Repeat) else step.step


@lru_cache
def _telling(kind: type[Closed]) -> tuple[str, ...]:
    """Fields of a kind of step that say what is done, the most telling first."""
    wanted = ("height", "for_", "by", "edge", "anchor", "name", "person")
    return tuple(field for field in wanted if field in kind.model_fields)


class Builder:
    """Turns the steps of one person into what they do."""

    def __init__(
        self, scenario: Scenario, case: Case, person: str, chance: Chance = NOMINAL
    ) -> None:
        self.scenario, self.case, self.person = scenario, case, person
        self.chance, self._made = chance, 0
        self._makers: dict[type, Callable[[Any], do.Step]] = {
            typed.Ascend: lambda s: do.Ascend(s.height.value, s.technique, s.system),
            typed.Descend: self._descend,
            typed.Work: self._work,
            typed.Swing: lambda s: do.Swing(s.by.value, s.times, self._last_edge_m()),
            typed.CrossEdge: self._cross,
            typed.PassReAnchor: lambda s: do.PassReAnchor(
                s.anchor, self._drawn(s.for_) if s.for_ else None
            ),
            typed.PassDeviation: lambda s: do.PassDeviation(s.anchor, self._lasting(s)),
            typed.PlaceProtection: lambda s: do.PlaceProtection(s.edge, s.with_, self._lasting(s)),
            typed.RemoveProtection: lambda s: do.RemoveProtection(s.edge, self._lasting(s)),
            typed.CheckProtection: lambda s: do.CheckProtection(s.edge, self._lasting(s)),
            typed.FixBypassSling: lambda s: do.FixBypassSling(
                s.edge, self._sling(s.edge), self._lasting(s)
            ),
            typed.RemoveBypassSling: lambda s: do.RemoveBypassSling(
                s.edge, self._sling(s.edge), self._lasting(s)
            ),
            typed.LowerUnloaded: lambda s: do.LowerUnloaded(s.height.value),
            typed.Rest: lambda s: do.Rest(self._drawn(s.for_)),
            typed.Inspect: self._inspect,
            typed.SwapRope: lambda s: do.SwapRope(self._lasting(s)),
            typed.Event: lambda s: do.Event(s.name),
            typed.WaitFor: lambda s: do.WaitFor(s.name),
            typed.TakeOver: lambda s: do.TakeOver(s.person, self._lasting(s)),
            typed.Repeat: lambda s: do.Repeat(
                s.times, tuple(self.step(i) for i in s.steps), tuple(words(i) for i in s.steps)
            ),
            typed.Reciprocate: self._reciprocate,
            typed.Haul: lambda s: self._feed(s, s.height.value),
            typed.Lower: lambda s: self._feed(s, -s.height.value),
            typed.ShiftRope: lambda s: do.ShiftRope(s.by.value),
        }

    def step(self, step: typed.Step) -> do.Step:
        """Make one step.

        Raises:
            UsageError: a step that cannot be simulated.
        """
        self._made += 1
        maker = self._makers.get(type(step))
        if maker is None:
            raise UsageError(f"step {step.step!r} cannot be simulated")
        return maker(step)

    def _lasting(self, step: Any) -> float:  # any step with `for`, which no type says
        """Duration of a step: as typed, or what such a thing usually takes [s]."""
        usual = getattr(self.scenario.times, step.step.replace(" ", "_").replace("-", "_"))
        return self._drawn(step.for_ or usual)

    def _drawn(self, lasting: Measured) -> float:
        """A duration in this run; it belongs to the step's place in the list [s]."""
        name = f"how long step {self._made} of {self.person} takes"
        return max(float(self.chance.value(name, lasting)), 0.0)

    def _descend(self, step: typed.Descend) -> do.Step:
        speed, every = step.speed, step.stop_every
        return do.Descend(
            step.height.value, speed.value if speed else None, every.value if every else None
        )

    def _work(self, step: typed.Work) -> do.Step:
        said = {field: w.value.value for field, w in ways(self.scenario, step).items()}
        lasts_s = self._drawn(step.for_)
        # without bounce and tool the sway is the cycle after which a contact has crept once
        beat_hz = said["bounce_rate" if beats(self.scenario, step) else "sway_rate"]
        return do.WorkInPlace(
            lasts_s * said["duty"], said["bounce"], beat_hz, said["sway"], said["sway_rate"],
            said["tool"], lasts_s * (1.0 - said["duty"]),
        )  # fmt: skip

    def _cross(self, step: typed.CrossEdge) -> do.Step:
        lifted = step.protection == "lifted"
        return do.CrossEdge(step.edge, self._below(step.edge), self._lasting(step), lifted)

    def _below(self, edge: str) -> float:
        """Depth at which a person hangs who has crossed an edge [m]."""
        return crossed_m(middle(self.scenario.edges[edge]))

    def _last_edge_m(self) -> float:
        """Depth of the last edge of the person's working line [m]; 0 for given bends."""
        mine = [
            s for s in self.case.rigged.sections if (s.person, s.role) == (self.person, WORKING)
        ]
        deep = [-e.start_m[2] for s in mine if not s.direct for e in s.edges]
        return max(deep, default=0.0)

    def _sling(self, edge: str) -> str:
        lines = self.scenario.options[self.case.option].lines[self.person]
        found = lines.working.bypass.get(edge)
        return found.is_ if found is not None else "sling"

    def _inspect(self, step: typed.Inspect) -> do.Step:
        by, lifted = step.by or self.person, step.protection == "lifted"
        return do.Inspect(by, self._lasting(step), step.from_, lifted)

    def _reciprocate(self, step: typed.Reciprocate) -> do.Step:
        return do.Feed(
            step.travel.value, step.speed.value, STANDS_UP_S, step.cycles, step.load.value
        )

    def _feed(self, step: typed.Haul | typed.Lower, length_m: float) -> do.Step:
        speed = step.speed.value if step.speed else HAUL_SPEED_M_S
        if step.person is not None and step.person != self.person:
            return do.Haul(step.person, length_m, speed, STANDS_UP_S)
        return do.Feed(length_m, speed, STANDS_UP_S)


__all__ = [
    "SAFETY",
    "WORKING",
    "Builder",
    "check_kit",
    "habits",
    "plan",
    "station",
    "stations",
    "words",
]
