"""How deep a person gets: the heights of a job's steps added up, before anything is simulated."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from edgewear.rigging.model import Point
from edgewear.scenario.models import Option, Scenario
from edgewear.scenario.steps import Step

BELOW_CROSSED_EDGE_M = 1.5
"""A person who has crossed an edge hangs this far below it; assumed."""

HIGHEST_BELOW_EDGE_M = 3.0
"""Where nothing is said, the job's highest point lies this far below the last edge; assumed."""

_DOWN = {"descend": 1.0, "lower unloaded": 1.0, "lower": 1.0, "ascend": -1.0, "haul": -1.0}


@dataclass(frozen=True)
class Station:
    """A place where a person stays for a while."""

    name: str  # the step in words
    depth_m: float
    aside_m: float = 0.0  # how far the work goes to either side
    step: int = 0  # of the person's list, from 1
    works: bool = False  # more than resting


@dataclass(frozen=True)
class Profile:
    """Depths of one person's job [m]."""

    start_m: float
    highest_m: float
    deepest_m: float
    end_m: float
    stations: tuple[Station, ...]


def profile(
    scenario: Scenario, option: Option, person: str, edges: dict[str, Point], last_m: float
) -> Profile:
    """Return where a person's job begins, how high and how deep it gets.

    Parameters: `edges`: middles of the edges with coordinates, by name; `last_m`: depth of the
    working line's last edge (0 where bends are given directly: depth is then counted from it).

    The start is where the person's own `start` says, below the last edge; else, where the first
    step crosses an edge with coordinates, 1.5 m below that one; else so that the highest point
    of the job lies 3 m below the last edge.
    """
    steps = scenario.job.get(person, ())
    net, up, down = _extent(steps, person, scenario.job)
    start = _start(scenario, option, person, edges, last_m, up)
    stations = tuple(_stations(scenario, steps, start))
    return Profile(start, start + up, start + down, start + net, stations)


def _start(
    scenario: Scenario,
    option: Option,
    person: str,
    edges: dict[str, Point],
    last_m: float,
    up: float,
) -> float:
    who = option.people.get(person)
    if who is not None and who.start is not None:
        return last_m + who.start.value
    crossed = next((s.edge for s in scenario.job.get(person, ()) if s.step == "cross edge"), None)
    if crossed in edges:
        return BELOW_CROSSED_EDGE_M - edges[crossed][2]
    return last_m + HIGHEST_BELOW_EDGE_M - up


def _extent(
    steps: Sequence[Step], person: str, job: dict[str, tuple[Step, ...]]
) -> tuple[float, float, float]:
    """Return net, highest and deepest change of depth over some steps [m], others' hauls too."""
    here, up, down = 0.0, 0.0, 0.0
    for step in steps:
        if step.step == "repeat":
            net, above, below = _extent(step.steps, person, {})
            last = here + (step.times - 1) * net
            up = min(up, here + above, last + above)
            down = max(down, here + below, last + below)
            here = last + net
            continue
        if getattr(step, "person", None) in (None, person):
            here += _change_m(step)
        up, down = min(up, here), max(down, here)
    for other, theirs in job.items():
        moved = 0.0 if other == person else sum(_moves_m(s, person) for s in theirs)
        up, down, here = min(up, here + moved), max(down, here + moved), here + moved
    return here, up, down


def _change_m(step: Step) -> float:
    """Return by how much a step takes its person down [m]."""
    sign = _DOWN.get(step.step)
    return 0.0 if sign is None else sign * float(step.height.value)  # type: ignore[union-attr]


def _moves_m(step: Step, person: str) -> float:
    """Return by how much somebody else's step takes a person down [m]."""
    return _change_m(step) if getattr(step, "person", None) == person else 0.0


def steps_of(steps: Sequence[Step]) -> Iterator[Step]:
    """Give every step in order, those inside a repeat once."""
    for step in steps:
        if step.step == "repeat":
            yield from steps_of(step.steps)
        else:
            yield step


def _stations(
    scenario: Scenario, steps: Sequence[Step], here: float, outer: int = 0
) -> Iterator[Station]:
    """Give the places of a job's first pass at which somebody works, rests or swings."""
    for number, step in enumerate(steps, start=1):
        if step.step == "repeat":
            yield from _stations(scenario, step.steps, here, outer or number)
            here += _extent(step.steps, "", {})[0] * step.times
            continue
        here += _change_m(step)
        if step.step in ("work", "rest", "swing", "reciprocate"):
            lasting = getattr(step, "for_", None)
            name = f"{step.step} {lasting.typed}" if lasting else step.step
            works = step.step != "rest"
            yield Station(name, here, _aside_m(scenario, step), outer or number, works)


def _aside_m(scenario: Scenario, step: Step) -> float:
    """Return how far a step goes to either side [m]."""
    if step.step == "swing":
        return step.by.value
    if step.step == "work":
        return (step.sway or scenario.work.sway).value
    return 0.0
