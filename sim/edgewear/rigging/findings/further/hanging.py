"""Remarks on where people hang or climb to: too close below an edge for a run to be possible."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from statistics import NormalDist

from edgewear import spelt
from edgewear.percentiles import NORMAL_90
from edgewear.rigging.findings.figures import drawn_below_m
from edgewear.rigging.laying import lay
from edgewear.rigging.model import Section
from edgewear.rigging.profile import End, Profile
from edgewear.scenario.models.scenario import Option, Scenario
from edgewear.scenario.models.steps import Ascend, CrossEdge, Repeat, Step
from edgewear.scenario.models.walking import round_of
from edgewear.scenario.text.quantities import Measured
from edgewear.terms import GRAVITY_M_S2, WORKING

SELDOM = 256
"""Draws of which one is still told of: as many trials as a comparison plays if nothing is said."""


def too_close(
    scenario: Scenario, option: Option, sections: Sequence[Section], profiles: Mapping[str, Profile]
) -> Iterator[str]:
    """Say where harness and body may give by more than the rope below the last edge is long.

    Only where somebody hangs onto a line: who goes down to such a place has let the rope out.
    """
    for section in sections:
        who = option.people.get(section.person)
        if who is None or section.role != WORKING:
            continue
        give_m = who.mass.high * GRAVITY_M_S2 / seldom_below(who.body_stiffness)
        for where, depth_m in _taken_up(scenario, section.person, profiles[section.person]):
            if not section.top_m <= depth_m <= section.bottom_m:
                continue
            laid = lay(section, depth_m)
            last = section.edges[laid.edges[-1]].name if laid.edges else section.anchor
            if laid.free_m[-1] <= give_m:
                yield (
                    f"{section.line}: {where} {section.person} hangs on it with "
                    f"{spelt.metres(laid.free_m[-1])} of rope below {last}, where harness and "
                    f"body may give by {spelt.metres(give_m)} under the weight in one of {SELDOM} "
                    "trials: where no rope would be left there a trial cannot be computed; hang on "
                    "further below"
                )


def seldom_below(value: Measured) -> float:
    """Give what one draw in `SELDOM` lies below: of ten draws one lies beyond the ends of a range.

    Nothing is drawn below a tenth of the low end.
    """
    further = NormalDist().inv_cdf(1.0 / SELDOM) / -NORMAL_90
    if value.distribution == "lognormal":
        return float(value.value * (value.low / value.value) ** further)
    if value.distribution == "normal":
        return max(value.value - (value.value - value.low) * further, 0.1 * value.low)
    return value.low


def climbs_too_close(
    scenario: Scenario, option: Option, sections: Sequence[Section], profiles: Mapping[str, Profile]
) -> Iterator[str]:
    """Say where a softer rope would leave nothing of it below a given bend that is climbed to."""
    for section in sections:
        who = option.people.get(section.person)
        if who is None or section.role != WORKING or not (section.direct and section.edges):
            continue
        depths, steps = profiles[section.person], scenario.job.get(section.person, ())
        careful_m = drawn_below_m(scenario, option, section, depths.start_m, careful=True)
        drawn = drawn_below_m(scenario, option, section, depths.start_m)
        for end in depths.ends:
            if isinstance(made(steps, end), Ascend) and drawn < end.depth_m <= careful_m:
                yield (
                    f"{section.line}: step {end.step} ends {end.depth_m:.2f} m below "
                    f"{section.edges[-1].name}, and under the weight rope and harness give by "
                    f"{drawn:.2f} m, at the careful end by {careful_m:.2f} m: trials in which no "
                    "rope would be left there may not be computed; climb less high"
                )


def _taken_up(scenario: Scenario, person: str, depths: Profile) -> Iterator[tuple[str, float]]:
    """Give where somebody hangs onto their line: at the start, and where they cross an edge."""
    steps = scenario.job.get(person, ())
    crossed = [end for end in depths.ends if isinstance(made(steps, end), CrossEdge)]
    if not crossed or crossed[0] != depths.ends[0]:
        yield "at the start", depths.start_m
    for step, depth_m in dict.fromkeys((end.step, end.depth_m) for end in crossed):
        yield f"at step {step}", depth_m


def made(steps: Sequence[Step], end: End) -> Step:
    """Return the step that ends there, of a repeat the one inside."""
    step = steps[end.step - 1]
    if not isinstance(step, Repeat):
        return step
    one = round_of(step)
    return one[(end.made - 1) % len(one)]
