"""Remarks on climbs that end where the rope comes so flat that the legs may not lift anybody."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from edgewear.rigging.findings.further.hanging import made
from edgewear.rigging.laying import lifting_share
from edgewear.rigging.model import Section
from edgewear.rigging.profile import Profile
from edgewear.scenario.models.scenario import Option, Scenario
from edgewear.scenario.models.steps import Ascend
from edgewear.terms import WORKING


def flat_climbs(
    scenario: Scenario, option: Option, sections: Sequence[Section], profiles: Mapping[str, Profile]
) -> Iterator[str]:
    """Say where a climb may be given up before its end: by statics alone, at the careful push."""
    for section in sections:
        who = option.people.get(section.person)
        if who is None or section.role != WORKING:
            continue
        push, steps = who.force_ratio, scenario.job.get(section.person, ())
        for end in profiles[section.person].ends:
            here = section.top_m <= end.depth_m < section.bottom_m
            if not here or not isinstance(made(steps, end), Ascend):
                continue
            share = lifting_share(section, end.depth_m)
            if share * push.low <= 1.0:
                yield (
                    f"{section.line}: step {end.step} ends where the rope comes so flat that "
                    f"{share:.2f} of its pull lifts {section.person}, and their legs push "
                    f"{push.value:g} times the weight at most ({push.low:g} to {push.high:g}): the "
                    "climb may be given up before; climb less high, or hang nearer to the plumb "
                    "line (`out`, `along`)"
                )
