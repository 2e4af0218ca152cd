"""A casualty and what is around them when a rescue is called."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from math import isfinite

from edgewear.procedure.rescue_ways.moment import Jam, Moment, Someone
from edgewear.rigging.findings.control import (
    BARE_BELOW_DIAMETERS,
    judged_radius_m,
    parts_rope,
)
from edgewear.rigging.findings.standing import protected, standing
from edgewear.rigging.laying import lay, plumb_along_m
from edgewear.rigging.lengths import RopeNeed, rope_need
from edgewear.rigging.model import Section
from edgewear.rigging.profile import Profile
from edgewear.rigging.reach import WITHIN_REACH_M
from edgewear.rigging.sections import whole
from edgewear.rigging.survey import met_edges, placed_edges
from edgewear.scenario.models.scenario import Line, Option, Scenario
from edgewear.scenario.models.walking import crossed_first
from edgewear.terms import GRAVITY_M_S2, SAFETY, WORKING

ON_TOP = "on top"

ARM_M = 0.8
"""So far somebody who stands at an edge reaches out over it [m]; assumed, 0.6-1.0 m."""


@dataclass(frozen=True)
class Engaged:
    """Who rescues others already, with what, until when."""

    by: Mapping[str, str] = field(default_factory=dict)  # who comes to a pick-off -> for whom
    rescued: frozenset[str] = frozenset()  # who is got down or up themself
    hands: frozenset[str] = frozenset()  # who hauls or lowers somebody from the top
    until_s: float = 0.0  # when those have done, from the call [s]

    def wait_s(self, names: Iterable[str]) -> float:
        """How long some of those on top are not free yet [s]."""
        return self.until_s if self.hands & set(names) else 0.0


@dataclass(frozen=True)
class Scene:
    """One casualty who hangs, at the moment when a rescue is called."""

    scenario: Scenario
    option: str
    sections: tuple[Section, ...]  # of everybody's lines as the job uses them
    moment: Moment
    casualty: str
    extra_kg: dict[str, float]  # person -> what a fault has added to their weight
    engaged: Engaged = Engaged()
    jams: tuple[Jam, ...] = ()  # devices that serve no more for a while, whenever that begins

    @property
    def chosen(self) -> Option:
        """The option as it is rigged."""
        return self.scenario.options[self.option]

    @cached_property
    def held_by(self) -> Someone:
        """On whose lines the casualty hangs: their own, or those of whoever took them over."""
        mine = self.moment.people[self.casualty]
        return self.moment.people[mine.carried_by] if mine.carried_by else mine

    @property
    def depth_m(self) -> float:
        """Where the casualty hangs [m]."""
        return self.held_by.depth_m

    def mass_kg(self, *names: str) -> float:
        """What some people weigh, with whom they carry and what was added [kg]."""
        hang: dict[str, None] = {}  # each once, in order
        for name in names:
            someone = self.moment.people.get(name)
            hang |= dict.fromkeys((name, *(someone.carries if someone else ())))
        total = 0.0
        for one in hang:
            who = self.chosen.people.get(one)
            total += (who.mass.value if who else 0.0) + self.extra_kg.get(one, 0.0)
        return total

    def line_of(self, person: str, role: str) -> Line | None:
        """A person's working or safety line."""
        both = self.chosen.lines.get(person)
        if both is None:
            return None
        return both.working if role == WORKING else both.safety

    def section(self, person: str, role: str, depth_m: float) -> Section | None:
        """The section of a person's line that serves a depth, with what lies on its edges now."""
        mine = [s for s in self.sections if s.person == person and s.role == role]
        serving = _serving(mine, depth_m) or _serving(self._whole(person, role), depth_m) or mine
        if not serving:
            return None
        who = self.moment.people.get(person)
        step, made = (who.step, who.made) if who is not None else (0, 0)
        placed = standing(self.scenario, self.chosen, person, step, made).placed
        section = protected(self.chosen, serving[-1], placed)
        bare = tuple(
            replace(e, protection=None) if e.name in self.moment.bare else e for e in section.edges
        )
        return replace(section, edges=bare)

    def _whole(self, person: str, role: str) -> list[Section]:
        """Every section of a person's line: a rescue may lead to where the job does not."""
        line = self.line_of(person, role)
        if line is None:
            return []
        name = f"{person} {role}" if len(self.chosen.lines) > 1 else role
        return whole(self.scenario, self.chosen, person, line, name)

    def along_m(self, someone: Someone) -> float:
        """Where along the face a person hangs [m]: on a line that caught them, plumb below it."""
        section = self.section(someone.name, someone.role, someone.depth_m)
        if section is None or section.direct:
            return 0.0
        if someone.role == SAFETY:
            return plumb_along_m(section, lay(section, someone.depth_m))
        return section.load_at(someone.depth_m)[1]

    def rope(self, person: str, line: Line, depth_m: float) -> RopeNeed:
        """What a person's line takes down to a depth, and what it has."""
        way = Profile(depth_m, depth_m, depth_m, depth_m, ())
        return rope_need(self.scenario, self.chosen, person, line, way)

    def ground(self) -> tuple[str, float] | None:
        """The first thing named below the casualty, and its depth [m]."""
        found = {name: -up.value for name, up in self.scenario.below.items()}
        below = {name: deep for name, deep in found.items() if deep > self.depth_m}
        return min(below.items(), key=lambda item: item[1], default=None)

    def stands_at(self, anchor: str) -> bool:
        """Whether somebody who stands can handle a fixed point.

        Behind every edge; above the highest one behind it, or so near it, as over a manhole, that
        whoever stands there reaches out to it. Where bends are given nothing is known against it.
        """
        fixed, edges = self.scenario.anchors.get(anchor), placed_edges(self.scenario)
        if fixed is None or fixed.out is None or not edges:
            return True
        out_m = fixed.out.value
        if out_m < min(point[0] for point in edges.values()):
            return True
        if not self.over_the_top(anchor) or fixed.up is None:
            return False
        top_m = max(point[2] for point in edges.values())
        upper = [point[0] for point in edges.values() if point[2] >= top_m - ARM_M]
        near = any(abs(out_m - edge_m) <= ARM_M for edge_m in upper)
        return out_m < min(upper) or (near and fixed.up.value - top_m <= WITHIN_REACH_M)

    def over_the_top(self, anchor: str) -> bool:
        """Whether a fixed point lies above every edge."""
        fixed, edges = self.scenario.anchors.get(anchor), placed_edges(self.scenario)
        if fixed is None or fixed.up is None:
            return False
        return all(fixed.up.value > point[2] for point in edges.values())

    def reached_from_top(self, edge: str) -> bool:
        """Whether somebody who stands on top reaches an edge: not far below the highest one."""
        heights = {name: point[2] for name, point in placed_edges(self.scenario).items()}
        return edge not in heights or max(heights.values()) - heights[edge] <= WITHIN_REACH_M

    def rim_m(self, person: str) -> float:
        """Depth of the edge that somebody goes over from the top [m]; 0 where bends are given.

        That which they cross onto their lines in the plan; else the lowest that those on top still
        reach, of the edges that their lines may meet.
        """
        crossed = crossed_first(self.scenario.job.get(person, ()), person)
        known = placed_edges(self.scenario)
        if crossed in known:
            return -known[crossed][2]
        depths = [-point[2] for point in met_edges(self.scenario, self.chosen, person).values()]
        reached_m = min(depths, default=0.0) + WITHIN_REACH_M
        return max((deep for deep in depths if deep <= reached_m), default=0.0)

    def on_anchor_n(self, anchor: str, besides: set[str]) -> float:
        """What other people's weight already pulls at a fixed point [N]."""
        total = 0.0
        for someone in self.moment.people.values():
            if someone.hangs and someone.name not in besides:
                section = self.section(someone.name, someone.role, someone.depth_m)
                if section is not None and section.anchor == anchor:
                    total += self.mass_kg(someone.name) * GRAVITY_M_S2
        return total

    def lost(self, section: Section) -> str:
        """Say why a section is not used any more: fixed point or rope; empty where it is."""
        if section.anchor in self.moment.gone or section.line in self.moment.parted:
            return f"the {section.line} does not hold any more"
        if section.line in self.moment.spent:
            return f"the {section.line} is lost: its core shows"
        return ""

    def cuts(self, edge: str) -> bool:
        """Whether an edge can part a loaded rope in one pass."""
        return edge in self.scenario.edges and parts_rope(self.scenario, edge)

    def is_sharp(self, section: Section, edge: str) -> bool:
        """Whether an edge is one that must not be loaded bare."""
        diameter_m = self.scenario.ropes[section.rope].diameter.value
        return judged_radius_m(self.scenario, edge) < BARE_BELOW_DIAMETERS * diameter_m


def _serving(sections: Iterable[Section], depth_m: float) -> list[Section]:
    return [one for one in sections if one.top_m <= depth_m < one.bottom_m]


def is_free(scene: Scene, name: str) -> str:
    """Say why somebody cannot come; empty where they can."""
    someone = scene.moment.people.get(name)
    if someone is None:  # watches an edge and has no part in the job
        away = scene.moment.away_until > scene.moment.tick
        return f"{name} is away" if away else ""
    if someone.fell:
        return f"{name} has fallen"
    if not someone.able:
        return f"{name} cannot act"
    if someone.carried_by:
        return f"{name} hangs on the lines of {someone.carried_by}"
    if someone.carries:
        return f"{name} carries {' and '.join(someone.carries)}"
    if someone.lost:
        return f"{name} hangs on one line, the other is lost"
    return ""


def cannot_reach(scene: Scene, name: str) -> str:
    """Say why somebody who is free cannot come along their lines; empty where they can."""
    someone = scene.moment.people[name]
    if name in scene.engaged.by:
        return f"{name} is with {scene.engaged.by[name]}"
    if name in scene.engaged.rescued:
        return f"{name} is being rescued"
    if someone.stuck:
        return f"{name} cannot go on: {someone.stuck}"
    if someone.hangs and scene.moment.heard_from > scene.moment.tick:
        return f"{name} cannot be called: communication is lost"
    return ""


def stands_on_top(scene: Scene, name: str) -> bool:
    """Whether somebody stands above the edges; who does not hang has not gone over them yet."""
    someone = scene.moment.people.get(name)
    return someone is None or not (someone.hangs or someone.carried_by or someone.fell)


def where(scene: Scene, name: str) -> str:
    """Where somebody is, in words."""
    if stands_on_top(scene, name):
        return ON_TOP
    depth_m = scene.moment.people[name].depth_m
    return f"{depth_m:.1f} m deep" if isfinite(depth_m) else "on their lines"
