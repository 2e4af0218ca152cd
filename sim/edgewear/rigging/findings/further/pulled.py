"""What a haul, a lower or a shift would pull past an edge: a knot, or a sling clamped across it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import NamedTuple

from edgewear import spelt
from edgewear.rigging.findings.control import line_of
from edgewear.rigging.findings.further.hauls import deepest_of
from edgewear.rigging.findings.further.order import Order, Spot
from edgewear.rigging.laying import lay
from edgewear.rigging.model import Section
from edgewear.rigging.profile import Profile, Shifting
from edgewear.scenario.models.gear import Sling
from edgewear.scenario.models.scenario import Option, Scenario
from edgewear.scenario.models.steps import FixBypassSling, RemoveBypassSling, Step
from edgewear.scenario.text.tree import address

HAIR_M = 1e-6
"""A way less than that is how lengths round [m]."""


@dataclass(frozen=True)
class PulledPast:
    """A step that would pull what cannot pass an edge past it."""

    spot: Spot
    path: str  # address of the step
    step: int  # of its list, from 1
    what: str
    certain: bool  # False: it depends on what others do meanwhile

    @property
    def words(self) -> str:
        """The finding in words, as a remark."""
        unless = "" if self.certain else "unless more is done before than it waits for, "
        return f"{self.spot.person}, step {self.step}: {unless}it {self.what}"


class _Pull(NamedTuple):
    """A step that moves a line's rope: let out at its top; below 0 taken in [m]."""

    spot: Spot
    out_m: float


class _Moved(NamedTuple):
    """Between which ends rope has moved by some moment: out, below 0 in [m]."""

    least_m: float
    most_m: float


class _On(NamedTuple):
    """A sling on an edge: since which step, None from the start."""

    since: Spot | None
    certain: bool


def pulled_past(
    scenario: Scenario, option: Option, sections: Sequence[Section], profiles: Mapping[str, Profile]
) -> Iterator[PulledPast]:
    """Give the first step that would pull each knot past an edge or what its line begins at.

    And the first that would pull more rope over an edge than a bypass sling spans there: it is
    clamped to the rope on both sides. Where the job lets nobody know what was made before, it is
    not certain. Lists too long to be written out are not looked at.

    Parameters: `sections`: of all people; `profiles`: person -> how deep they get.
    """
    order = Order(scenario)
    for person, depths in profiles.items():
        section = deepest_of(sections, person)
        if section is not None and (section.knots_m or line_of(option, section).bypass):
            line = _Pulled(scenario, option, section, depths, order)
            yield from line.knots()
            yield from line.slings()


class _Pulled:
    """A working line whose rope the job moves at its top."""

    def __init__(
        self, scenario: Scenario, option: Option, section: Section, depths: Profile, order: Order
    ) -> None:
        self.option, self.section, self.order = option, section, order
        laid = lay(section, max(section.top_m, min(section.bottom_m, depths.deepest_m)))
        names = [section.anchor, *(section.edges[k].name for k in laid.edges)]
        ways_m = [0.0, *accumulate(laid.free_m[:-1])]
        self.points = list(zip(names, ways_m, strict=True))
        shifting = Shifting(scenario, option, section.person)
        self.pulls = [
            _Pull(spot, out_m)
            for spot, step in order.steps()
            if (out_m := self._out_m(shifting, spot, step))
        ]

    def _out_m(self, shifting: Shifting, spot: Spot, step: Step) -> float:
        own_m = shifting.through_m(step) if spot.person == self.section.person else 0.0
        return step.let_out_m(self.section.person, spot.person) + own_m

    def _before(self, pull: _Pull, since: Spot | None = None) -> _Moved:
        """Return how far rope may have moved when a pull begins, since some moment."""
        least_m = most_m = 0.0
        for other in self.pulls:
            if other is pull or self.order.before(pull.spot, other.spot):
                continue
            if since is not None and self.order.before(other.spot, since):
                continue
            sure = self.order.before(other.spot, pull.spot) and (
                since is None or self.order.before(since, other.spot)
            )
            least_m += other.out_m if sure else min(other.out_m, 0.0)
            most_m += other.out_m if sure else max(other.out_m, 0.0)
        return _Moved(least_m, most_m)

    def _first(self, found: list[PulledPast]) -> list[PulledPast]:
        """Give the one that comes first of those that are certain, else of all."""
        some = [one for one in found if one.certain] or found
        return sorted(some, key=lambda one: sum(self.order.before(o.spot, one.spot) for o in some))[
            :1
        ]

    def knots(self) -> Iterator[PulledPast]:
        """Give the first step that each knot cannot pass an edge in."""
        for knot_m in self.section.knots_m:
            yield from self._first([one for pull in self.pulls for one in self._knot(pull, knot_m)])

    def _knot(self, pull: _Pull, knot_m: float) -> Iterator[PulledPast]:
        """Give each point that a step pulls a knot past, in the order that it comes to them."""
        moved, hauls, way_m = self._before(pull), pull.out_m < 0.0, abs(pull.out_m)
        for name, at_m in reversed(self.points) if hauls else self.points:
            ahead_m = [(at_m - knot_m - out_m) * (-1.0 if hauls else 1.0) for out_m in moved]
            near_m, far_m = min(ahead_m), max(ahead_m)  # from the knot to the point
            if near_m < way_m - HAIR_M and far_m > HAIR_M:
                certain = near_m > HAIR_M and far_m < way_m - HAIR_M
                yield self._found(pull, self._knot_words(knot_m, name, near_m), certain)

    def _knot_words(self, knot_m: float, name: str, near_m: float) -> str:
        after = f" after {spelt.tenths(near_m)}" if near_m > 0.0 else ""
        return (
            f"pulls the knot at {knot_m:g} m of the {self.section.line} past "
            f"{spelt.quoted(name)}{after}, which no knot is pulled past: move less rope, or tie no "
            "knot there (`knots`)"
        )

    def slings(self) -> Iterator[PulledPast]:
        """Give the first step that pulls more rope over each edge than its bypass sling spans."""
        met = {name for name, _ in self.points[1:]}
        for edge, sling in line_of(self.option, self.section).bypass.items():
            if edge in met:
                found = [self._sling(pull, edge, sling) for pull in self.pulls]
                yield from self._first([one for one in found if one is not None])

    def _sling(self, pull: _Pull, edge: str, sling: Sling) -> PulledPast | None:
        """Return that a step pulls more rope over an edge than a sling there lets through."""
        state = self._on(pull.spot, edge)
        if state is None:
            return None
        moved = self._before(pull, state.since)
        ends = sorted(abs(m + pull.out_m) for m in moved)
        crosses = (moved.least_m + pull.out_m) * (moved.most_m + pull.out_m) < 0.0
        least_m = 0.0 if crosses else ends[0]
        if ends[-1] <= sling.length.value + HAIR_M:
            return None
        certain = state.certain and least_m > sling.length.high + HAIR_M
        return self._found(pull, self._sling_words(edge, sling, ends[-1]), certain)

    def _sling_words(self, edge: str, sling: Sling, way_m: float) -> str:
        return (
            f"pulls {spelt.tenths(way_m)} of the {self.section.line} over {spelt.quoted(edge)} "
            f"while a bypass sling is clamped across it, which spans {sling.length.value:g} m: the "
            f"sling at {edge} must be taken off first (`remove bypass sling`); the edge is bare "
            "then"
        )

    def _on(self, now: Spot, edge: str) -> _On | None:
        """Return whether a sling is on an edge at a moment, and since when; None: it is not."""
        order = self.order
        put = [s for s in order.of(FixBypassSling, edge) if s.person == self.section.person]
        off = list(order.of(RemoveBypassSling, edge))
        known = all(order.before(s, now) or order.before(now, s) for s in (*put, *off))
        begins: list[Spot | None] = [s for s in put if not order.before(now, s)]
        begins += [None] * (not put)
        for since in reversed(begins):
            gone = [s for s in off if since is None or not order.before(s, since)]
            if not any(order.before(s, now) for s in gone):
                return _On(since, known)
        return None

    def _found(self, pull: _Pull, what: str, certain: bool) -> PulledPast:
        path = self.order.path(pull.spot)
        return PulledPast(pull.spot, address(path), int(path[2]) + 1, what, certain)
