"""What a rescue hangs on the lines, all the way down: fixed points, rope and edges."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from edgewear import spelt
from edgewear.findings.rescue import OnTheWay, Rescue
from edgewear.procedure.rescue_ways.legs import Leg
from edgewear.procedure.rescue_ways.scene import Scene, stands_on_top
from edgewear.rigging.laying import lay
from edgewear.rigging.model import EdgeOnLine, Section
from edgewear.rigging.sections import PASSED_BELOW_M
from edgewear.rigging.survey import place, placed_edges
from edgewear.terms import GRAVITY_M_S2, SAFETY, WORKING

PICK_OFF = "pick-off"
"""The way in which a rescuer comes to the casualty and stays with them."""

DEPTHS = 12
"""A way down is looked at in so many pieces, and just below every edge and fixed point."""

JUST_BELOW_M = (0.01, 0.3, 1.0)


@dataclass
class Draft:
    """A rescue while it is being judged."""

    row: Rescue
    legs: list[Leg] = field(default_factory=list)
    lacks: list[str] = field(default_factory=list)
    under_way: bool = False  # whoever comes has been called, and has passed the edges above them

    def done(self) -> Draft:
        """Write down what is missing."""
        self.row = replace(self.row, missing=tuple(dict.fromkeys(self.lacks)))
        return self


def own_lines_bear(scene: Scene, draft: Draft, name: str, down_m: float) -> None:
    """Hold a rescuer's own lines against the way, the weight of two and the edges."""
    both_n = scene.mass_kg(name, scene.casualty) * GRAVITY_M_S2
    for role in (WORKING, SAFETY):
        if scene.line_of(name, role) is None or scene.section(name, role, scene.depth_m) is None:
            continue
        for section in _served(scene, name, role, down_m):
            if lost := scene.lost(section):
                draft.lacks.append(lost)
        rope_lasts(scene, draft, name, role, down_m)
        if role == WORKING:
            bears(scene, draft, name, role, both_n, {name, scene.casualty}, down_m)


def rope_lasts(scene: Scene, draft: Draft, name: str, role: str, down_m: float) -> None:
    """Hold somebody's line against the rope that a way down takes."""
    line = scene.line_of(name, role)
    if line is None:
        return
    need = scene.rope(name, line, down_m)
    if role == WORKING or name == scene.held_by.name:
        draft.row = replace(draft.row, rope_needed_m=need.needed_m, rope_has_m=need.available_m)
    if need.tail_m < 0.0:
        draft.lacks.append(
            f"the {need.line} has {need.available_m:g} m of rope, the way down takes "
            f"{need.needed_m:.1f} m"
        )


def bears(
    scene: Scene, draft: Draft, name: str, role: str, load_n: float, besides: set[str],
    down_m: float,
) -> None:  # fmt: skip
    """Hold fixed points and edges of a line against what a rescue hangs on them on its way.

    Parameters:
        name, role: whose line, and which.
        besides: whose weight is in `load_n`.
        down_m: where it ends; the casualty's own depth where it leads up.
    """
    for fixed in dict.fromkeys(one.anchor for one in _served(scene, name, role, down_m)):
        at = scene.scenario.anchors.get(fixed)
        # without friction, the careful end for a fixed point
        pull_n = load_n + scene.on_anchor_n(fixed, besides)
        if at is not None and pull_n > at.strength.value:
            draft.lacks.append(f"{spelt.kilonewtons(pull_n)} in all is more than {fixed} holds")
    met = {edge.name: (section, edge) for section, edge in _met(scene, name, role, down_m)}
    draft.row = replace(
        draft.row, edges=tuple(OnTheWay(e.name, e.protection) for _, e in met.values())
    )
    first = {edge.name for _, edge in _met(scene, name, role, scene.depth_m)}
    for section, edge in met.values():
        when = "" if edge.name in first else " on the way down"
        if scene.cuts(edge.name):
            draft.lacks.append(
                f"{edge.name}, which can part a rope in one pass, would be loaded{when}"
            )
        elif _is_bare(scene, section, edge):
            _placed_first(scene, draft, edge.name, when)


def _served(scene: Scene, name: str, role: str, down_m: float) -> list[Section]:
    """The sections of somebody's line that serve a way down, each once."""
    every = (scene.section(name, role, depth_m) for depth_m in _depths(scene, down_m))
    return list({one.line: one for one in every if one is not None}.values())


def _met(scene: Scene, name: str, role: str, down_m: float) -> Iterator[tuple[Section, EdgeOnLine]]:
    """The edges that a line lies on at some moment of a way down, each with its section."""
    for depth_m in _depths(scene, down_m):
        section = scene.section(name, role, depth_m)
        if section is not None:
            for k in lay(section, depth_m).edges:
                if section.edges[k].kind == "edge":
                    yield section, section.edges[k]


def _depths(scene: Scene, down_m: float) -> list[float]:
    """Where a way down is looked at [m]; the casualty's own depth alone where there is none."""
    from_m = scene.depth_m
    if not down_m > from_m:
        return [from_m]
    anchors = (place(anchor) for anchor in scene.scenario.anchors.values())
    points = [-point[2] + PASSED_BELOW_M for point in anchors if point is not None]
    points += [-point[2] for point in placed_edges(scene.scenario).values()]
    below = (deep + more for deep in points for more in JUST_BELOW_M)
    even = (from_m + (down_m - from_m) * k / DEPTHS for k in range(DEPTHS))
    return sorted({from_m, down_m, *even, *(d for d in below if from_m < d < down_m)})


def _is_bare(scene: Scene, section: Section, edge: EdgeOnLine) -> bool:
    """Whether an edge is loaded in a way that industrial work does not accept."""
    bare = edge.protection is None and scene.is_sharp(section, edge.name)
    return bare and scene.scenario.setting == "industrial"


def _placed_first(scene: Scene, draft: Draft, edge: str, when: str) -> None:
    """Let whoever comes over the edge place what their line names for it, if it lies ready."""
    if _can_place(scene, draft, edge):
        lasting = scene.scenario.times.place_protection
        draft.legs.append(Leg("reach", f"placing protection at {edge}", lasting))
    else:
        draft.lacks.append(f"{edge} would be loaded bare{when}")


def _can_place(scene: Scene, draft: Draft, edge: str) -> bool:
    row = draft.row
    line = None if row.rescuer is None else scene.line_of(row.rescuer, WORKING)
    known = placed_edges(scene.scenario)
    return (
        row.rescuer is not None
        and line is not None
        and edge in line.protect
        and edge not in scene.moment.bare
        and (draft.under_way or stands_on_top(scene, row.rescuer))  # else they placed it coming
        # whoever hauls or lowers comes over no edge
        and (row.method == PICK_OFF or scene.reached_from_top(edge))
        and (edge not in known or -known[edge][2] < scene.depth_m)  # with two on it, nobody does
    )
