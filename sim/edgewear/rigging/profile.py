"""How deep a person gets: the heights of a job's steps added up, before anything is simulated."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate
from math import ceil
from typing import NamedTuple

from edgewear.geometry.points import Point
from edgewear.scenario.models.scenario import Option, Scenario
from edgewear.scenario.models.steps import (
    Ascend,
    CrossEdge,
    Repeat,
    Rest,
    Step,
    SwapRope,
    Swing,
    Work,
)
from edgewear.scenario.models.walking import crossed_first, leaves, made_by_others, round_of
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


class Drawn(NamedTuple):
    """Where somebody hangs, and the rope let out at the top of their line until then [m]."""

    depth_m: float
    out_m: float


@dataclass(frozen=True)
class Profile:
    """Depths of one person's job [m]."""

    start_m: float
    highest_m: float
    deepest_m: float
    end_m: float
    stays: tuple[Stay, ...]
    ends: tuple[End, ...] = ()  # in order, from the first that hangs
    drawn: tuple[tuple[Drawn, ...], ...] = ()  # in order, for each rope of the working line


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
    steps = scenario.job.get(person, ())
    walk, start = _begun(scenario, option, person, edges, last_m)
    extent = walk.extent(steps, start, whole=True)
    passed = list(walk.first_pass(steps, start))
    return Profile(
        start_m=start,
        highest_m=extent.highest,
        deepest_m=extent.deepest,
        end_m=extent.end,
        stays=tuple(_stays(scenario, passed)),
        ends=tuple(_ends(walk, steps, start)),
        drawn=walk.drawn(steps, start),
    )


def made(
    scenario: Scenario, option: Option, person: str, edges: dict[str, Point], last_m: float
) -> Iterator[Passed]:
    """Give the steps of a person's own list as they are made, with their depths [m].

    Parameters: as of `profile`. Of a repeat the first round, the second and the last: those
    between change alike. What others haul or lower in the end is left out.
    """
    walk, start = _begun(scenario, option, person, edges, last_m)
    return walk.passes(scenario.job.get(person, ()), start)


def _begun(
    scenario: Scenario, option: Option, person: str, edges: dict[str, Point], last_m: float
) -> tuple[Walk, float]:
    """Return a person's way and the depth at which it begins [m]."""
    walk = Walk(person, edges, Shifting(scenario, option, person))
    start = _start(scenario, option, person, edges, last_m)
    if start is None:
        highest = walk.extent(scenario.job.get(person, ()), 0.0, whole=True).highest
        start = last_m + HIGHEST_BELOW_EDGE_M - highest
    return walk, start


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


@dataclass(frozen=True)
class Shifting:
    """Rope that a line lets through at its anchor after every so many strokes of a climb."""

    scenario: Scenario
    option: Option
    person: str

    def through_m(self, step: Step) -> float:
        """Return how much a step lets through, its strokes as high as their kind's middle [m]."""
        pair = self.option.lines.get(self.person)
        shift = None if pair is None else pair.working.shift
        if shift is None or not isinstance(step, Ascend):
            return 0.0
        parts = step.height.value / (shift.every * self._rise_m(step))
        return shift.by.value * max(ceil(parts - 1e-9) - 1, 0)  # less than rounding is no stroke

    def _rise_m(self, step: Ascend) -> float:
        """Return what a stroke gains [m]."""
        who = self.option.people[self.person]
        known = {**self.scenario.techniques, who.technique.name: who.technique}
        technique = known[step.technique or who.technique.name]
        system = who.system if step.system is None else self.scenario.systems[step.system]
        return technique.rise.value * system.rise_factor.value


class Walk:
    """A person's way up and down their list, before anything is simulated."""

    def __init__(self, person: str, edges: dict[str, Point], shifting: Shifting) -> None:
        self.person, self.edges, self.shifting = person, edges, shifting
        others = made_by_others(shifting.scenario.job, person)
        self.meanwhile = {wait: self._by(made) for wait, made in others.waiting.items()}
        self.in_the_end = self._by(others.last)

    def _by(self, made: Sequence[tuple[str, Step]]) -> tuple[float, ...]:
        """Give by how much others' hauls and lowers take this person down, one after another."""
        found = (moved for by, step in made for moved in self._moves([step], by))
        return tuple(moved for moved in found if moved)

    def extent(self, steps: Sequence[Step], here: float, whole: bool = False) -> Extent:
        """Return how far some steps lead from a depth, others' hauls meanwhile counted.

        Parameters: `whole`: these are all that the person makes; what else others haul comes last.
        """
        up = down = here
        for step in steps:
            if isinstance(step, Repeat):
                for found in self._rounds(step, here):
                    here, up, down = found.end, min(up, found.highest), max(down, found.deepest)
                continue
            for place in self._places(step, here):
                here, up, down = place, min(up, place), max(down, place)
        for moved in self.in_the_end * whole:
            here += moved
            up, down = min(up, here), max(down, here)
        return Extent(here, up, down)

    def _places(self, step: Step, here: float) -> Iterator[float]:
        """Give the depth that a step leads to, and after each haul that others make meanwhile."""
        yield from accumulate(self.meanwhile.get(id(step), ()), initial=self._own(step, here))

    def drawn(self, steps: Sequence[Step], here: float) -> tuple[tuple[Drawn, ...], ...]:
        """Give depths and the rope let out until then, for each rope of the working line.

        What others haul or lower comes when it does in `extent`.
        """
        pieces = [[Drawn(here, 0.0)]]
        self._draw(steps, pieces)
        _drawn_on(pieces[-1], self.in_the_end)
        return tuple(tuple(piece) for piece in pieces)

    def _draw(self, steps: Sequence[Step], pieces: list[list[Drawn]]) -> None:
        """Go through steps; a fresh rope begins a piece of its own."""
        for step in steps:
            depth_m, out_m = pieces[-1][-1]
            if isinstance(step, Repeat):
                self._draw_rounds(step, pieces)
            elif isinstance(step, SwapRope):
                pieces.append([Drawn(depth_m, 0.0)])
            else:
                out_m += step.let_out_m(self.person, self.person) + self.shifting.through_m(step)
                pieces[-1].append(Drawn(self._own(step, depth_m), out_m))
                _drawn_on(pieces[-1], self.meanwhile.get(id(step), ()))

    def _draw_rounds(self, step: Repeat, pieces: list[list[Drawn]]) -> None:
        """Go through the first two rounds of a repeat and the last two: they change alike.

        Two, because a rope that is swapped in one round is in use until the swap of the next.
        """
        self._draw(step.steps, pieces)
        for turn in range(1, min(step.times, 4)):
            before, count = pieces[-1][-1], len(pieces)
            self._draw(step.steps, pieces)
            if turn == 1 and step.times > 4:
                fresh = len(pieces) > count
                pieces[-1].append(_further(before, pieces[-1][-1], step.times - 4, fresh))

    def _moves(self, steps: Sequence[Step], by: str) -> Iterator[float]:
        for step in steps:
            if not isinstance(step, Repeat):
                yield step.deeper_m(self.person, by)
                continue
            once = list(self._moves(step.steps, by))
            yield from once
            if step.times > 1:  # each round moves alike: those between at once, then the last
                yield (step.times - 2) * sum(once)
                yield from once

    def first_pass(self, steps: Sequence[Step], here: float, outer: int = 0) -> Iterator[Passed]:
        """Give every step with its depths, those inside a repeat in their first round."""
        for number, step in enumerate(steps, start=1):
            if isinstance(step, Repeat):
                yield from self.first_pass(step.steps, here, outer or number)
                here = [here, *(found.end for found in self._rounds(step, here))][-1]
                continue
            begin, here = here, self.after(step, here)
            yield Passed(outer or number, step, begin, here)

    def passes(self, steps: Sequence[Step], here: float) -> Iterator[Passed]:
        """Give every step with its depths, those inside a repeat in each round that differs."""
        for step in steps:
            if isinstance(step, Repeat):
                for begin in self.round_starts(step, here):
                    yield from self.passes(step.steps, begin)
                here = [here, *(found.end for found in self._rounds(step, here))][-1]
                continue
            begin, here = here, self.after(step, here)
            yield Passed(0, step, begin, here)

    def round_starts(self, step: Repeat, here: float) -> list[float]:
        """Return the depths at which the first round of a repeat begins, the second, and the last.

        Between the second and the last all change alike.
        """
        ends = [found.end for found in self._rounds(step, here)]
        starts = [here, *ends[:1], ends[-1] - (ends[-1] - ends[0]) / max(step.times - 1, 1)]
        return starts[: min(step.times, len(starts))]

    def _rounds(self, step: Repeat, here: float) -> Iterator[Extent]:
        """Give the first round of a repeat, the second, and the last: they change alike."""
        first = self.extent(step.steps, here)
        yield first
        if step.times > 1:
            second = self.extent(step.steps, first.end)
            yield second
            further = (step.times - 2) * (second.end - first.end)
            yield Extent(*(depth + further for depth in second))

    def after(self, step: Step, here: float) -> float:
        """Return the depth after a step that is no repeat, others' hauls meanwhile counted [m]."""
        return self._own(step, here) + sum(self.meanwhile.get(id(step), ()))

    def _own(self, step: Step, here: float) -> float:
        if isinstance(step, CrossEdge):
            return crossed_m(self.edges.get(step.edge))
        deeper_m = step.deeper_m(self.person, self.person)
        return here + deeper_m + self.shifting.through_m(step)


def _drawn_on(piece: list[Drawn], moves: Sequence[float]) -> None:
    """Let others haul or lower: the rope goes with the load."""
    for moved in moves:
        depth_m, out_m = piece[-1]
        piece.append(Drawn(depth_m + moved, out_m + moved))


def _further(before: Drawn, after: Drawn, rounds: int, fresh: bool) -> Drawn:
    """Return where further rounds like one lead, `fresh` if it hangs on a fresh rope after it."""
    out_m = 0.0 if fresh else after.out_m - before.out_m
    deeper_m = after.depth_m - before.depth_m
    return Drawn(after.depth_m + rounds * deeper_m, after.out_m + rounds * out_m)


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
