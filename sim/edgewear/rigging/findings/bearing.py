"""What the parts of a rigging are asked to bear beside what they may, people together."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from math import inf

from edgewear.findings.limits import Figure
from edgewear.findings.rigging import Bears, Caught, PointLoad, SlungEdge
from edgewear.rigging.findings.control import line_of
from edgewear.rigging.findings.limits import most_of
from edgewear.rigging.model import Section
from edgewear.scenario.models.scenario import Option, Scenario
from edgewear.terms import WORKING

IN_WORK = "in work"


def bears(
    scenario: Scenario,
    option: Option,
    sections: Sequence[Section],
    loads: Sequence[PointLoad],
    caught: Sequence[Caught],
) -> tuple[Bears, ...]:
    """Return what every fixed point, rope and backup device is asked to bear.

    Parameters: `sections`: of all people; `loads`: on each fixed point, line by line; `caught`:
    what each catch comes to.
    """
    whose = {section.line: section.person for section in sections}
    return (
        *_points(loads, whose),
        *_ropes(scenario, sections, loads),
        *_devices(scenario, option, sections, caught),
    )


def _points(loads: Sequence[PointLoad], whose: Mapping[str, str]) -> Iterator[Bears]:
    """Fixed points: one person in each case, with the weight of all others who work on it."""
    for name in dict.fromkeys(load.name for load in loads):
        mine = [load for load in loads if load.name == name]
        works = _by_person([load for load in mine if load.case == IN_WORK], whose)
        for case in dict.fromkeys(load.case for load in mine):
            alone = _by_person([load for load in mine if load.case == case], whose)
            sums = {who: n + sum(works.values()) - works.get(who, 0.0) for who, n in alone.items()}
            who = max(sums, key=lambda person: sums[person])
            people = tuple(dict.fromkeys([who, *works]))
            lines = dict.fromkeys(load.line for load in mine if whose[load.line] in people)
            yield Bears(
                kind=mine[0].use,
                name=name,
                lines=tuple(lines),
                people=people,
                case=case,
                load=sums[who],
                others=sums[who] - alone[who],
                most=mine[0].strength_n,
                unit="N",
            )


def _by_person(loads: Sequence[PointLoad], whose: Mapping[str, str]) -> dict[str, float]:
    """The largest load of each person's lines [N]: the two of one person do not add up."""
    found: dict[str, float] = {}
    for load in loads:
        who = whose[load.line]
        found[who] = max(found.get(who, 0.0), load.peak_n)
    return found


def _ropes(
    scenario: Scenario, sections: Sequence[Section], loads: Sequence[PointLoad]
) -> Iterator[Bears]:
    """Lines: the largest load at their fixed points, against what their knots leave of the rope."""
    for line in dict.fromkeys(section.line for section in sections):
        section = next(one for one in sections if one.line == line)
        fixed = {one.anchor for one in sections if one.line == line}
        rope = scenario.ropes[section.rope]
        most_n = rope.strength.value * rope.strength_factor.value * rope.termination.value
        mine = [load for load in loads if load.line == line and load.name in fixed]
        for case in dict.fromkeys(load.case for load in mine):
            load_n = max(load.peak_n for load in mine if load.case == case)
            yield Bears(
                "rope", section.rope, (line,), (section.person,), case, load_n, 0.0, most_n, "N"
            )


def _devices(
    scenario: Scenario, option: Option, sections: Sequence[Section], caught: Sequence[Caught]
) -> Iterator[Bears]:
    """Backup devices: the drop and the peak of each catch, against what they are held to."""
    for one in caught:
        section = next(s for s in sections if s.line == one.line)
        backup = line_of(option, section).backup
        name = backup.is_ if backup is not None else "tied in"
        found = (
            (Figure.DROP, one.drop_careful_m, "m"), (Figure.PEAK, one.peak_careful_n, "N"),
        )  # fmt: skip
        for figure, value, unit in found:
            load = inf if value is None else value
            yield Bears(
                "backup device", name, (one.line,), (one.person, *one.carried), "catch",
                load, 0.0, most_of(scenario, figure), unit,
            )  # fmt: skip


def slung(scenario: Scenario, option: Option, sections: Sequence[Section]) -> tuple[SlungEdge, ...]:
    """Return the bypass slings of working lines: how they wear beside the rope, what they hold."""
    found = {}
    for section in sections:
        slings = line_of(option, section).bypass if section.role == WORKING else {}
        for edge in section.edges:
            if edge.name in slings:
                sling, rope = slings[edge.name], scenario.ropes[section.rope]
                found[section.line, edge.name] = SlungEdge(
                    line=section.line,
                    edge=edge.name,
                    name=f"{sling.is_} at {edge.name}",
                    wears=sling.severity.value * rope.sheath.toughness.value,
                    holds_n=sling.holds_n,
                )
    return tuple(found.values())
