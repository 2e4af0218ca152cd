"""What a safety line runs over when it catches: it is loaded then, and swings along its edges."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from edgewear.rigging.contacts import Contact, contact, weight_on
from edgewear.rigging.face import plumb_from
from edgewear.rigging.findings.limits import MOST_DROP_M
from edgewear.rigging.laying import Laid, lay, plumb_along_m
from edgewear.rigging.model import Section
from edgewear.rigging.profile import Profile
from edgewear.scenario.models.scenario import Option, Scenario


def with_catches(
    scenario: Scenario,
    option: Option,
    sections: Sequence[Section],
    found: Sequence[Contact],
    depths: Profile,
    hung_m: Sequence[float] = (),
) -> list[Contact]:
    """Return contacts with what a catch adds on the safety lines of one person.

    Parameters: `found`: contacts of `sections`, in order along each; `depths`: of the person;
    `hung_m`: where a run has them hang, beside where it is planned [m].

    From every place where the person's steps end they fall the arrest distance of a backup device
    (2 m) and swing to the line's plumb line, free to slide along the edges: the careful end. So
    edges that only the fall reaches count, and the swing counts as travel under load.
    """
    every: list[Contact] = []
    for number, section in enumerate(sections):
        mine = [c for c in found if c.section == number]
        if section.role == "safety line" and not section.direct:
            falls_m = _places(section, depths, hung_m)
            mine = _caught(scenario, option, section, number, mine, falls_m)
        every += mine
    return every


def _caught(
    scenario: Scenario,
    option: Option,
    section: Section,
    number: int,
    mine: Sequence[Contact],
    falls_m: Sequence[float],
) -> list[Contact]:
    swings = [_swing(section, depth_m) for depth_m in falls_m]
    known = {c.edge: c for c in mine}
    weight_n = weight_on(scenario, option, section)
    for k, item in enumerate(section.edges):
        touching = [laid for swing in swings for laid in swing if k in laid.edges]
        if not touching:
            continue
        travel_m = max(_travel_m(swing, k) for swing in swings)
        new = contact(scenario, option, section, number, k, touching, travel_m, weight_n)
        old = known.get(item.name)
        known[item.name] = new if old is None else _joined(old, new)
    order = [item.name for item in section.edges]
    return sorted(known.values(), key=lambda c: order.index(c.edge))


def _joined(hanging: Contact, caught: Contact) -> Contact:
    """Return the worse of each: bend, tension, travel, held by the edge's end."""
    return replace(
        hanging,
        bend_rad=max(hanging.bend_rad, caught.bend_rad),
        tension_n=max(hanging.tension_n, caught.tension_n),
        aside_m=max(hanging.aside_m, caught.aside_m),
        at_end=hanging.at_end or caught.at_end,
    )


def _places(section: Section, depths: Profile, hung_m: Sequence[float]) -> list[float]:
    """Return the depths from which somebody may fall onto a section."""
    top, bottom = section.top_m, section.bottom_m
    ends = [end.depth_m for end in depths.ends] or [depths.start_m]
    places = [depths.highest_m, *ends, depths.deepest_m]
    planned = {round(p, 3) for p in places if top <= p < bottom}
    return sorted(planned.union(p for p in hung_m if top <= p < bottom))


def _swing(section: Section, depth_m: float) -> tuple[Laid, Laid]:
    """Return the line before a fall and after it, the person plumb below it then."""
    before = lay(section, depth_m)
    plumb = plumb_from(section, depth_m, plumb_along_m(section, before))
    return before, lay(plumb, depth_m + MOST_DROP_M)


def _travel_m(swing: tuple[Laid, Laid], k: int) -> float:
    """Return how far the crossing of an edge moves along it in a swing [m]."""
    places = [laid.along_m[laid.edges.index(k)] for laid in swing if k in laid.edges]
    return max(places) - min(places) if places else 0.0
