"""Checks of the job before it is run: heights, edges, waits and steps that cannot be done."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import dist

from edgewear.scenario.checks.rigging_rules import lines_of
from edgewear.scenario.models.scenario import Scenario
from edgewear.scenario.models.steps import (
    CrossEdge,
    Event,
    FixBypassSling,
    Haul,
    Lower,
    PassDeviation,
    PassReAnchor,
    PlaceProtection,
    RemoveBypassSling,
    Repeat,
    ShiftRope,
    Step,
    SwapRope,
    TakeOver,
    WaitFor,
)
from edgewear.scenario.models.walking import walk
from edgewear.scenario.read.sections import Sections
from edgewear.scenario.text.tree import Path_, address

_SLACK_M = 1e-6


def check_procedure(sections: Sections, scenario: Scenario) -> None:
    """Report steps that cannot be done and people who wait for each other."""
    as_list = isinstance(sections.data.get("job"), list)
    told: set[Path_] = set()
    moved = _moved_by_others(scenario)
    for person, steps in scenario.job.items():
        path: Path_ = ("job",) if as_list else ("job", person)
        for here, step in walk(steps, path):
            _check_step(sections, scenario, person, step, here)
        for name, option in scenario.options.items():
            if person in option.lines and person not in moved:
                _Heights(sections, scenario, name, person, told).check(steps, path)
    _check_waits(sections, scenario, as_list)


def _moved_by_others(scenario: Scenario) -> set[str]:
    """Gather people whose height depends on what others do."""
    return {
        step.person
        for steps in scenario.job.values()
        for _, step in walk(steps)
        if isinstance(step, Haul | Lower | TakeOver) and step.person is not None
    }


def _check_step(
    sections: Sections, scenario: Scenario, person: str, step: Step, path: Path_
) -> None:
    """Report a step that no option makes possible."""
    lines = [line for option in scenario.options.values() for _, line in lines_of(option)]
    message = ""
    if isinstance(step, PlaceProtection) and step.with_ is None:
        if not any(step.edge in line.protect for line in lines):
            message = f"no option names protection for {step.edge!r}: add `with:` or `protect`"
    elif isinstance(step, FixBypassSling | RemoveBypassSling):
        if not any(step.edge in line.bypass for line in lines):
            message = f"no option has a bypass sling at {step.edge!r}"
    elif isinstance(step, PassReAnchor):
        if not any(step.anchor in line.re_anchor for line in lines):
            message = f"no option re-anchors at {step.anchor!r}"
    elif isinstance(step, PassDeviation):
        if not any(step.anchor in {d.anchor for d in line.deviations} for line in lines):
            message = f"no option has a deviation at {step.anchor!r}"
    elif isinstance(step, TakeOver) and step.person == person:
        message = f"{person!r} cannot take over themself"
    elif isinstance(step, ShiftRope):
        message = _shift_problem(scenario, person)
    elif isinstance(step, SwapRope) and step.rope is not None:
        message = _swap_problem(scenario, person, step.rope)
    if message:
        sections.report(path, message)


def _swap_problem(scenario: Scenario, person: str, rope: str) -> str:
    """Refuse another kind of rope: what follows would be computed with the old one's numbers."""
    for name, option in scenario.options.items():
        used = option.lines[person].working.rope if person in option.lines else rope
        if used != rope:
            return (
                f"a swap to another kind of rope is not computed: option {name!r} has {used!r}; "
                "leave `rope` out for a fresh piece of the same kind"
            )
    return ""


def _shift_problem(scenario: Scenario, person: str) -> str:
    for name, option in scenario.options.items():
        anchor = option.lines[person].working.anchor if person in option.lines else None
        if anchor is not None and not scenario.anchors[anchor].releasable:
            return f"option {name!r} starts at {anchor!r}, which is not releasable"
    return ""


@dataclass
class _Reach:
    """How deep a person is and how deep their rope reaches, below the highest edge [m]."""

    depth: float
    deepest: float


class _Heights:
    """Walks a person's depth through the job in one option."""

    def __init__(
        self,
        sections: Sections,
        scenario: Scenario,
        option: str,
        person: str,
        told: set[Path_],
    ) -> None:
        self._sections, self._scenario, self._told = sections, scenario, told
        self._option, self._person = option, person
        self._line = scenario.options[option].lines[person].working
        self._rope = scenario.ropes[self._line.rope].length.value - self._line.tail.value

    def check(self, steps: tuple[Step, ...], path: Path_) -> None:
        """Report a height that the rope does not reach, or that leads above the edges."""
        person = self._scenario.people.get(self._person)
        given = person.start.value if person is not None and person.start is not None else None
        start = given if given is not None else start_depth_m(steps, self._person)
        reach = _Reach(start, self._reach())
        self._walk(steps, path, reach)

    def _reach(self) -> float:
        """Give the depth below the highest edge that the rope surely does not pass.

        Taken as the straight way from the anchor to the line's edges, so a rope that is too short
        only by its way round further edges is found when the option is rigged.
        """
        line = self._line
        if line.over:
            return self._rope - sum(part.after.value for part in line.over)
        return max(
            self._rope - self._setback(anchor)
            for anchor in (line.anchor, *line.re_anchor)
            if anchor is not None
        )

    def _setback(self, anchor: str) -> float:
        """Give the straight way from an anchor to the highest edge, less its height above it."""
        fixed = self._scenario.anchors[anchor]
        edges = [e.start_m for e in self._scenario.edges.values() if e.start_m is not None]
        if fixed.out is None or fixed.up is None or not edges:
            return 0.0
        top = max(edges, key=lambda point: point[2])
        if fixed.up.value < top[2]:
            return -(top[2] - fixed.up.value)
        return dist((fixed.out.value, fixed.up.value), (top[0], top[2]))

    def _walk(self, steps: tuple[Step, ...], path: Path_, reach: _Reach) -> bool:
        """Walk steps; False after a problem, which makes all that follows meaningless."""
        for index, step in enumerate(steps):
            here: Path_ = (*path, index, step.step)
            if isinstance(step, Repeat):
                if not self._rounds(step, (*here, "steps"), reach):
                    return False
                continue
            change = step.deeper_m(self._person, self._person)
            reach.depth += change
            if change > 0 and reach.depth > reach.deepest + _SLACK_M:
                self._tell(here, self._too_deep(reach))
                return False
            if change < 0 and reach.depth < -_SLACK_M:
                above = -reach.depth
                self._tell(here, f"this leads {above:.2f} m above the highest edge")
                return False
        return True

    def _rounds(self, step: Repeat, path: Path_, reach: _Reach) -> bool:
        """Walk the first round and the last: what grows with each is most in one of them."""
        before = reach.depth
        if not self._walk(step.steps, path, reach):
            return False
        reach.depth += max(step.times - 2, 0) * (reach.depth - before)
        return step.times < 2 or self._walk(step.steps, path, reach)

    def _too_deep(self, reach: _Reach) -> str:
        rope = self._scenario.ropes[self._line.rope].length
        return (
            f"the rope does not reach: {reach.depth:.2f} m below the edge, but {rope.typed} of "
            f"{self._line.rope!r} reach only {max(reach.deepest, 0.0):.2f} m in option "
            f"{self._option!r}"
        )

    def _tell(self, path: Path_, message: str) -> None:
        """Report once, whichever option shows it first."""
        if path not in self._told:
            self._told.add(path)
            self._sections.report(path, message)


def start_depth_m(steps: tuple[Step, ...], person: str) -> float:
    """Give the depth below the edge at which a job has to start so that nothing leads above it.

    0 where the first way is over an edge; else the highest net climb [m].
    """
    first = next((step for step in steps if step.hanging or isinstance(step, Repeat)), None)
    if isinstance(first, CrossEdge):
        return 0.0
    return _climbed(steps, person)[1]


def _climbed(steps: tuple[Step, ...], person: str) -> tuple[float, float]:
    """Give how much deeper some steps lead, and how far above their start they get [m]."""
    depth = highest = 0.0
    for step in steps:
        if isinstance(step, Repeat):
            each, above = _climbed(step.steps, person)
            last = depth + (step.times - 1) * each
            highest = max(highest, above - depth, above - last)
            depth += step.times * each
        else:
            depth += step.deeper_m(person, person)
            highest = max(highest, -depth)
    return depth, highest


@dataclass
class _Walker:
    """A person on their way through steps that raise events and wait for them."""

    person: str
    ways: list[tuple[Path_, Step]]
    at: int = 0
    raised: set[str] = field(default_factory=set)

    def go(self, happened: set[str], anytime: set[str]) -> bool:
        """Go on as far as possible; tell whether there was any progress."""
        before = self.at
        while self.at < len(self.ways):
            _, step = self.ways[self.at]
            if isinstance(step, WaitFor) and step.name not in happened | anytime:
                break
            if isinstance(step, Event):
                happened.add(step.name)
            self.at += 1
        return self.at > before


def _check_waits(sections: Sections, scenario: Scenario, as_list: bool) -> None:
    """Report people who wait for each other for ever."""
    own = {
        step.name
        for steps in scenario.job.values()
        for _, step in walk(steps, ())
        if isinstance(step, Event)
    }
    walkers = [
        _Walker(person, list(walk(steps, ("job",) if as_list else ("job", person))))
        for person, steps in scenario.job.items()
    ]
    waited = {s.name for w in walkers for _, s in w.ways if isinstance(s, WaitFor)}
    happened: set[str] = set()
    moved = True
    while moved:
        moved = sum(walker.go(happened, waited - own) for walker in walkers) > 0
    stuck = [walker for walker in walkers if walker.at < len(walker.ways)]
    for walker in stuck:
        path, step = walker.ways[walker.at]
        name = getattr(step, "name", "")
        others = ", ".join(_raisers(stuck, name)) or "nobody"
        message = (
            f"circular wait: {walker.person!r} waits here for {name!r}, raised by {others} only "
            f"after this can go on"
        )
        sections.report((*path, "name"), message)


def _raisers(stuck: list[_Walker], name: str) -> list[str]:
    """Say who raises an event, and where."""
    return [
        f"{walker.person!r} ({address(path[:-1])})"
        for walker in stuck
        for path, step in walker.ways[walker.at :]
        if isinstance(step, Event) and step.name == name
    ]
