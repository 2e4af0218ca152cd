"""Remarks on what is rigged and never carries: deviations that a line does not reach."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from edgewear.rigging.contacts import Contact, places_used
from edgewear.rigging.findings.control import line_of
from edgewear.rigging.laying import lay
from edgewear.rigging.model import Section
from edgewear.rigging.profile import Profile
from edgewear.rigging.survey import place
from edgewear.scenario.models.scenario import Option, Scenario

LED = "deviation"


def idle_deviations(
    scenario: Scenario,
    option: Option,
    sections: Sequence[Section],
    found: Sequence[Contact],
    profiles: Mapping[str, Profile],
) -> Iterator[str]:
    """Say which deviations a line passes, or never gets below, without loading them.

    Parameters: `found`: contacts of `sections`, on safety lines with what a catch adds.
    """
    for line in dict.fromkeys((section.person, section.role) for section in sections):
        mine = {k: one for k, one in enumerate(sections) if (one.person, one.role) == line}
        first, depths = next(iter(mine.values())), profiles[line[0]]
        carrying = {c.edge for c in found if c.section in mine and c.kind == LED}
        for deviation in () if first.direct else line_of(option, first).deviations:
            name = deviation.anchor
            if name not in carrying and not _touched(scenario, option, mine.values(), name, depths):
                yield (
                    f"{first.line}: the deviation at {name} carries nothing anywhere in this job "
                    f"as surveyed: {_why(scenario, name, depths)}, and it frees no edge"
                )


def _touched(
    scenario: Scenario, option: Option, mine: Iterable[Section], name: str, depths: Profile
) -> bool:
    """Tell whether a line is led there just below it, once stretched, or by work to the side."""
    for section in mine:
        for depth_m, aside_m in places_used(scenario, option, section, depths):
            touched = [section.edges[k] for k in lay(section, depth_m, aside_m).edges]
            if name in {item.name for item in touched if item.kind == LED}:
                return True
    return False


def _why(scenario: Scenario, name: str, depths: Profile) -> str:
    at = place(scenario.anchors[name])
    if at is not None and depths.deepest_m <= -at[2]:
        return "nobody gets below it"
    return "the line passes within its sling's length"
