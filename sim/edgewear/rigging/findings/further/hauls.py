"""Hauls of the plan that take a harder pull than one person can keep up."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from edgewear.findings.limits import HardHaul
from edgewear.rigging.findings import figures
from edgewear.rigging.model import Section
from edgewear.rigging.profile import Profile
from edgewear.scenario.models.scenario import Option, Scenario
from edgewear.scenario.models.steps import Haul
from edgewear.scenario.models.walking import leaves
from edgewear.terms import WORKING

HANDS_N = 250.0
"""Pull that one person keeps up at a haul [N]; assumed, 150-400 N."""


def hard_hauls(
    scenario: Scenario, option: Option, sections: Sequence[Section], profiles: Mapping[str, Profile]
) -> Iterator[HardHaul]:
    """Return which hauls of the plan ask more of one person alone than `limits: hands`.

    The steady pull, T*prod(exp(mu*theta)) over the advantage, by the middle of all friction, from
    the deepest place at which whoever is hauled hangs; losses in the haul system left out.
    """
    typed = scenario.limits.hands
    most_n = HANDS_N if typed is None else typed.value
    for who, steps in scenario.job.items():
        for number, step in enumerate(steps, 1):
            for haul in (one for one in leaves([step]) if isinstance(one, Haul)):
                hauled = haul.person or who
                section = deepest_of(sections, hauled)
                if section is None or hauled not in option.people:
                    continue
                hung = figures.hang(scenario, option, section, profiles[hauled].deepest_m)
                pull_n = figures.haul_at_top_n(hung) / haul.advantage.value
                if pull_n > most_n:
                    yield HardHaul(who, number, hauled, pull_n, most_n, typed is not None)


def deepest_of(sections: Sequence[Section], person: str) -> Section | None:
    """Return the lowest section of somebody's working line; None: they have none."""
    mine = [s for s in sections if s.person == person and s.role == WORKING]
    return max(mine, key=lambda section: section.top_m, default=None)
