"""How deep a person gets: the heights of a job's steps added up, before anything is simulated."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from edgewear.geometry.points import Point
from edgewear.scenario.models.scenario import Option, Scenario
from edgewear.scenario.models.steps import CrossEdge, Repeat, Rest, Step, Swing, Work
from edgewear.scenario.models.walking import crossed_first, leaves, round_of
from edgewear.scenario.working import way

BELOW_CROSSED_EDGE_M = 1.5
"""A person who has crossed an edge hangs this far below it; assumed."""

HIGHEST_BELOW_EDGE_M = 3.0
"""Where nothing is said, the job's highest point lies this far below the last edge; assumed."""


@dataclass(frozen=True)
class Stay:
    """A place where a person stays for a while."""

    name: str  # the step in words
    depth_m: float
    aside_m: float = 0.0  # how far the work goes to either side
    step: int = 0  # of the person's list, from 1
    works: bool = False  # more than resting
    in_place: bool = False  # work in place


class End(NamedTuple):
    """Where somebody hangs at the end of a step, one inside a repeat too."""

    step: int  # of the person's list, from 1
    depth_m: float
    made: int = 0  # how many steps of that step, a repeat, they have made; 0: it is none


@dataclass(frozen=True)
class Profile:
    """Depths of one person's job [m]."""

    start_m: float
    highest_m: float
    deepest_m: float
    end_m: float
    stays: tuple[Stay, ...]
    ends: tuple[End, ...] = ()  # in order, from the first that hangs


def profile(
    scenario: Scenario, option: Option, person: str, edges: dict[str, Point], last_m: float
) -> Profile:
    """Return where a person's job begins, how high and how deep it gets.

    Parameters: `edges`: middles of the edges with coordinates, by name; `last_m`: depth of the
    working line's last edge (0 where bends are given directly: depth is then counted from it).

    Whoever crosses an edge hangs 1.5 m below it. That is the start too where they get onto their
    line so, whatever is typed. Else it is where the person's own `start` says, below the last
    edge; else 1.5 m below the first edge with coordinates that they cross; else so that the
    highest point of the job lies 3 m below the last edge.
    """
    steps, walk = scenario.job.get(person, ()), Walk(person, edges)
    start = _start(scenario, option, person, edges, last_m)
    if start is None:
        start = last_m + HIGHEST_BELOW_EDGE_M - walk.extent(steps, 0.0, scenario.job).highest
    extent = walk.extent(steps, start, scenario.job)
    passed = list(walk.first_pass(steps, start))
    return Profile(
        start_m=start,
        highest_m=extent.highest,
        deepest_m=extent.deepest,
        end_m=extent.end,
        stays=tuple(_stays(scenario, passed)),
        ends=tuple(_ends(walk, steps, start)),
    )


def _start(
    scenario: Scenario, option: Option, person: str, edges: dict[str, Point], last_m: float
) -> float | None:
    """Return where a job begins if the scenario says so [m]."""
    steps, who = scenario.job.get(person, ()), option.people.get(person)
    if (first := crossed_first(steps, person)) is not None:
        return crossed_m(edges.get(first))
    if who is not None and who.start is not None:
        return last_m + who.start.value
    crossed = next((s.edge for s in leaves(steps) if isinstance(s, CrossEdge)), None)
    return crossed_m(edges[crossed]) if crossed in edges else None


def crossed_m(edge: Point | None) -> float:
    """Return the depth at which a person hangs who has crossed an edge [m]; None: at depth 0."""
    return BELOW_CROSSED_EDGE_M - (0.0 if edge is None else edge[2])


class Extent(NamedTuple):
    """Depth after some steps, and the least and largest on the way [m]."""

    end: float
    highest: float
    deepest: float


class Passed(NamedTuple):
    """A step, the number of the one of the person's list it belongs to, its depths [m]."""

    number: int
    step: Step
    begin_m: float
    end_m: float


class Walk:
    """A person's way up and down their list, before anything is simulated."""

    def __init__(self, person: str, edges: dict[str, Point]) -> None:
        self.person, self.edges = person, edges

    def extent(
        self, steps: Sequence[Step], here: float, job: Mapping[str, Sequence[Step]]
    ) -> Extent:
        """Return how far some steps lead from a depth, others' hauls counted."""
        up = down = here
        for step in steps:
            if isinstance(step, Repeat):
                for found in self._rounds(step, here):
                    here, up, down = found.end, min(up, found.highest), max(down, found.deepest)
                continue
            here = self.after(step, here)
            up, down = min(up, here), max(down, here)
        for other, theirs in job.items():
            moved = (
                0.0 if other == self.person else sum(s.deeper_m(self.person, other) for s in theirs)
            )
            up, down, here = min(up, here + moved), max(down, here + moved), here + moved
        return Extent(here, up, down)

    def first_pass(self, steps: Sequence[Step], here: float, outer: int = 0) -> Iterator[Passed]:
        """Give every step with its depths, those inside a repeat in their first round."""
        for number, step in enumerate(steps, start=1):
            if isinstance(step, Repeat):
                yield from self.first_pass(step.steps, here, outer or number)
                here = [here, *(found.end for found in self._rounds(step, here))][-1]
                continue
            begin, here = here, self.after(step, here)
            yield Passed(outer or number, step, begin, here)

    def round_starts(self, step: Repeat, here: float) -> list[float]:
        """Return the depths at which the first round of a repeat begins, the second, and the last.

        Between the second and the last all change alike.
        """
        ends = [found.end for found in self._rounds(step, here)]
        starts = [here, *ends[:1], ends[-1] - (ends[-1] - ends[0]) / max(step.times - 1, 1)]
        return starts[: min(step.times, len(starts))]

    def _rounds(self, step: Repeat, here: float) -> Iterator[Extent]:
        """Give the first round of a repeat, the second, and the last: they change alike."""
        first = self.extent(step.steps, here, {})
        yield first
        if step.times > 1:
            second = self.extent(step.steps, first.end, {})
            yield second
            further = (step.times - 2) * (second.end - first.end)
            yield Extent(*(depth + further for depth in second))

    def after(self, step: Step, here: float) -> float:
        """Return the depth after a step that is no repeat [m]."""
        if isinstance(step, CrossEdge):
            return crossed_m(self.edges.get(step.edge))
        return here + step.deeper_m(self.person, self.person)


def _stays(scenario: Scenario, passed: Sequence[Passed]) -> Iterator[Stay]:
    """Give the places of a job's first pass at which somebody works, rests or swings."""
    for number, step, _, here in passed:
        if step.staying:
            lasting = getattr(step, "for_", None)
            name = f"{step.step} {lasting.typed}" if lasting else step.step
            works = not isinstance(step, Rest)
            aside = aside_of(scenario, step)
            by_m = 0.0 if aside is None else aside.by_m
            yield Stay(name, here, by_m, number, works, isinstance(step, Work))


def _ends(walk: Walk, steps: Sequence[Step], here: float) -> Iterator[End]:
    """Give where somebody hangs at the end of each step, from the first that hangs.

    Of a repeat for its first, second and last round: the second finds what the first has left,
    and those between lie between in depth.
    """
    hangs = False
    for number, step in enumerate(steps, start=1):
        inside = isinstance(step, Repeat)
        one = round_of(step) if isinstance(step, Repeat) else [step]
        starts = walk.round_starts(step, here) if isinstance(step, Repeat) else [here]
        for turn, depth_m in enumerate(starts):
            here = depth_m
            for made, leaf in enumerate(one, start=1):
                here = walk.after(leaf, here)
                hangs = hangs or leaf.hangs_after(walk.person)
                if hangs:
                    yield End(number, here, inside * (made + len(one) * min(turn, 1)))


class Aside(NamedTuple):
    """How far a step goes to either side [m], and where that is said."""

    by_m: float
    address: str


def aside_of(scenario: Scenario, step: Step, path: str = "") -> Aside | None:
    """Return how far a step goes to either side; None for one that stays on its plumb line.

    Parameters: `path`: address of the step.
    """
    if isinstance(step, Swing):
        return Aside(step.by.value, f"{path}/by")
    if isinstance(step, Work):
        found = way(scenario, step, "sway", path)
        return Aside(found.value.value, found.address)
    return None
