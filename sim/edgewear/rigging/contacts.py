"""Where the lines are loaded over edges during a job, found from geometry alone."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import exp, isfinite

from edgewear.rigging.laying import Laid, lay
from edgewear.rigging.model import Section
from edgewear.rigging.profile import Profile, Stay
from edgewear.scenario.models.scenario import Option, Scenario
from edgewear.scenario.models.steps import Reciprocate
from edgewear.scenario.text.quantities import Measured
from edgewear.terms import GRAVITY_M_S2, LOADED_BEND_RAD, LOADED_N, WORKING

_DEPTHS = 16
"""Depths at which a section is laid, beside those that matter."""


@dataclass(frozen=True)
class Contact:
    """What one section does at one edge over the whole job."""

    section: int  # place in the list given
    edge: str
    kind: str  # "edge", "deviation" or "high directional"
    bend_rad: float  # largest
    setback_m: float  # from the section's fixed point, at the deepest point of the job
    below_m: float  # rope below it there
    tension_n: float  # on the load's side at rest, largest
    aside_m: float  # travel of the crossing along the edge under load, end to end
    crossing_m: tuple[float, float, float] | None  # at the deepest point; None for given bends
    at_end: bool  # the line is held by the end of the edge
    sunk_m: float = 0.0  # touched only once the rope has stretched, by up to so much

    @property
    def loaded(self) -> bool:
        """Tell whether a line carrying more than 200 N bends here, however little."""
        return self.bend_rad > LOADED_BEND_RAD and self.tension_n > LOADED_N

    @property
    def bears_on_edge(self) -> bool:
        """Tell whether it is an edge of the structure that the line is loaded over."""
        return self.kind == "edge" and self.loaded


def friction_at(scenario: Scenario, option: Option, section: Section, touched: int) -> float:
    """Return the friction that a section meets at one of its edges, protection counted.

    A used, wet or dirty rope's factor scales whatever the rope lies on.
    """
    factor = scenario.ropes[section.rope].friction_factor.value
    return friction_of(scenario, option, section, touched).value * factor


def friction_of(scenario: Scenario, option: Option, section: Section, touched: int) -> Measured:
    """Return the friction of what a section lies on at one of its edges, on a new, dry rope [1]."""
    item = section.edges[touched]
    if item.friction is not None:
        return Measured.exact(item.friction)
    lines = option.lines[section.person]
    line = lines.working if section.role == "working line" or lines.safety is None else lines.safety
    if item.protection is not None and item.name in line.protect:
        return line.protect[item.name].friction
    return scenario.edges[item.name].friction


def depths_used(section: Section, depths: Profile) -> list[float]:
    """Return depths at which to lay a section: over all its use, and where people stay."""
    top = max(section.top_m, depths.highest_m)
    bottom = min(section.bottom_m, depths.deepest_m)
    bottom = max(bottom, top)
    if not (isfinite(top) and isfinite(bottom)):
        return []
    count = 1 if bottom == top else _DEPTHS
    spread = [top + (bottom - top) * k / max(count - 1, 1) for k in range(count)]
    stays = [s.depth_m for s in depths.stays if top <= s.depth_m <= bottom]
    return sorted({*spread, *stays})


BELOW_M = (0.001, 0.05, 0.25, 1.0, 2.0, 4.0)
"""Depths below a deviation at which a line is laid too, on the way past it [m]."""


def places_used(
    scenario: Scenario, option: Option, section: Section, depths: Profile
) -> list[tuple[float, float]]:
    """Return depths, and ways aside, at which a deviation of a section may be loaded [m].

    Over all its use, just below each deviation, sunk by the line's stretch, aside where work goes.
    """
    top, bottom = max(section.top_m, depths.highest_m), min(section.bottom_m, depths.deepest_m)
    led = [-item.start_m[2] for item in section.edges if item.kind == "deviation"]
    passed = [(at_m + below_m, 0.0) for at_m in led for below_m in BELOW_M]
    aside = [(s.depth_m, way * s.aside_m) for s in depths.stays for way in (-1.0, 1.0)]
    sunk = sunk_stays(scenario, option, section, depths)
    return [
        *((depth_m, 0.0) for depth_m in depths_used(section, depths)),
        *(one for one in (*passed, *aside) if top <= one[0] <= bottom),
        *((stay.depth_m, way * stay.aside_m) for stay, _ in sunk for way in (-1.0, 1.0)),
    ]


def contacts(
    scenario: Scenario, option: Option, sections: Sequence[Section], depths: Profile
) -> list[Contact]:
    """Return what each section of one person touches over the job, in order along each."""
    found: list[Contact] = []
    for number, section in enumerate(sections):
        laid = [lay(section, d) for d in depths_used(section, depths)]
        if laid:
            planned = _of(scenario, option, section, number, laid, depths.stays)
            sunk = _once_stretched(scenario, option, section, number, depths)
            found += _in_order(section, planned, sunk)
    return found


def _in_order(
    section: Section, planned: Sequence[Contact], sunk: Sequence[Contact]
) -> list[Contact]:
    """Return all contacts along a section; of an edge that is touched as planned, that one."""
    order = [item.name for item in section.edges]
    every = {one.edge: one for one in (*sunk, *planned)}
    return sorted(every.values(), key=lambda one: order.index(one.edge))


def _of(
    scenario: Scenario,
    option: Option,
    section: Section,
    number: int,
    laid: list[Laid],
    stays: Iterable[Stay],
) -> list[Contact]:
    weight_n = weight_on(scenario, option, section)
    lateral = _sideways(section, laid, stays)
    found = []
    for k in range(len(section.edges)):
        touching = [x for x in laid if k in x.edges]
        if touching:
            found.append(
                contact(scenario, option, section, number, k, touching, lateral[k], weight_n)
            )
    return found


def _once_stretched(
    scenario: Scenario, option: Option, section: Section, number: int, depths: Profile
) -> list[Contact]:
    """Return what a line touches where people stay and at the deepest, sunk by its stretch.

    By the middle of everything, at the strongest push of the legs: T*l/K, friction left out. Only
    lines that hold people all the time sink; a passage to the next fixed point does not count.
    """
    sunk = sunk_stays(scenario, option, section, depths)
    laid = [lay(section, depth_m) for depth_m in sorted({stay.depth_m for stay, _ in sunk})]
    found = _of(scenario, option, section, number, laid, [s for s, _ in sunk]) if laid else []
    most_m = max((sink_m for _, sink_m in sunk), default=0.0)
    return [replace(one, sunk_m=most_m) for one in found if one.kind == "edge"]


def sunk_stays(
    scenario: Scenario, option: Option, section: Section, depths: Profile
) -> list[tuple[Stay, float]]:
    """Return where people stay, and the deepest, sunk by the stretch of a line, each with that [m].

    None of a line that does not hold them all the time.
    """
    who = option.people.get(section.person)
    works = section.role == WORKING or option.both_lines_loaded
    if who is None or section.direct or not works:
        return []
    rope = scenario.ropes[section.rope]
    strain = who.mass.value * GRAVITY_M_S2 * who.force_ratio.value
    strain /= rope.stiffness.value * rope.stiffness_factor.value
    deepest = Stay("", depths.deepest_m)
    stays = [s for s in (*depths.stays, deepest) if section.top_m <= s.depth_m < section.bottom_m]
    sinks_m = [strain * lay(section, stay.depth_m).length_m for stay in stays]
    return [
        (replace(stay, depth_m=min(stay.depth_m + sink_m, section.bottom_m)), sink_m)
        for stay, sink_m in zip(stays, sinks_m, strict=True)
    ]


def weight_on(scenario: Scenario, option: Option, section: Section) -> float:
    """Return the weight that hangs on a section: its person's, or a machine's load [N]."""
    person = option.people.get(section.person)
    return person.mass.value * GRAVITY_M_S2 if person is not None else heaviest_n(scenario)


def contact(
    scenario: Scenario,
    option: Option,
    section: Section,
    number: int,
    k: int,
    touching: Sequence[Laid],
    aside_m: float,
    weight_n: float,
) -> Contact:
    """Return what a section does at one of its edges.

    Parameters: `number`, `k`: of the section and the edge; `touching`: the section as it lies
    wherever it touches that edge, the deepest last; `aside_m`: travel along the edge.
    """
    item, last = section.edges[k], touching[-1]
    at = last.edges.index(k)
    places = [(x, x.edges.index(k)) for x in touching]
    return Contact(
        section=number,
        edge=item.name,
        kind=item.kind,
        bend_rad=max(x.bends_rad[j] for x, j in places),
        setback_m=last.setback_m(at),
        below_m=last.length_m - last.setback_m(at),
        tension_n=max(weight_n / _resistance(scenario, option, section, x, j) for x, j in places),
        aside_m=aside_m,
        crossing_m=last.points[at + 1] if last.points else None,
        at_end=any(x.at_end[j] for x, j in places),
    )


def heaviest_n(scenario: Scenario) -> float:
    """Return the largest dead weight of a machine's job [N]; 0 without one."""
    return GRAVITY_M_S2 * max(
        (
            step.load.value
            for steps in scenario.job.values()
            for step in steps
            if isinstance(step, Reciprocate)
        ),
        default=0.0,
    )


def _resistance(scenario: Scenario, option: Option, section: Section, laid: Laid, at: int) -> float:
    """Return the product of exp(mu*theta) of everything between an edge and the load."""
    total = 0.0
    for j in range(at + 1, len(laid.edges)):
        total += friction_at(scenario, option, section, laid.edges[j]) * laid.bends_rad[j]
    return exp(total)


def _sideways(section: Section, laid: list[Laid], stays: Iterable[Stay]) -> list[float]:
    """Return how far the crossing of each edge moves along it under load, end to end [m].

    Over all depths laid, and to both sides at each place where somebody moves sideways. Where
    bends are given directly the crossing moves as in an unfolded plane: by the share that the
    rope behind the edge has of the whole.
    """
    if section.direct:
        return [_unfolded(section, k, stays) for k in range(len(section.edges))]
    moved = list(laid)
    for stay in stays:
        if stay.aside_m and section.top_m <= stay.depth_m <= section.bottom_m:
            moved += [lay(section, stay.depth_m, s * stay.aside_m) for s in (-1.0, 1.0)]
    found = []
    for k in range(len(section.edges)):
        places = [x.along_m[x.edges.index(k)] for x in moved if k in x.edges]
        found.append(max(places) - min(places) if places else 0.0)
    return found


def _unfolded(section: Section, k: int, stays: Iterable[Stay]) -> float:
    behind = sum(e.after_m for e in section.edges[: k + 1])
    whole = sum(e.after_m for e in section.edges)
    return max(
        (2.0 * s.aside_m * behind / (whole + s.depth_m) for s in stays if whole + s.depth_m > 0),
        default=0.0,
    )
