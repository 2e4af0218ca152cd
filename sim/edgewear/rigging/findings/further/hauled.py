"""What a haul of the plan asks of the fixed points of the line that it pulls: friction counted.

Hauled, a line is tightest at its fixed point: every edge adds to the load what it takes from
whoever hangs still. So the careful end has all friction in it, where that of rest has none.
"""

from __future__ import annotations

from dataclasses import replace
from math import exp, hypot, log

from edgewear.rigging.contacts import friction_of
from edgewear.rigging.findings import figures
from edgewear.rigging.findings.control import line_of
from edgewear.rigging.findings.further.hanging import made
from edgewear.rigging.laying import Laid
from edgewear.rigging.model import Section
from edgewear.rigging.profile import Profile
from edgewear.scenario.models.scenario import Option, Scenario
from edgewear.scenario.models.steps import Haul, TakeOver, WaitFor
from edgewear.scenario.models.walking import leaves
from edgewear.terms import GRAVITY_M_S2, HAUL_SPEED_M_S, STANDS_UP_S


def hauls(scenario: Scenario) -> dict[str, float]:
    """Return whose working line the job hauls, and how fast at most [m/s].

    Of somebody whom others may have taken over, the lines of those too: they hang there then.
    """
    found: dict[str, float] = {}
    for who, steps in scenario.job.items():
        for haul in (step for step in leaves(steps) if isinstance(step, Haul)):
            speed = HAUL_SPEED_M_S if haul.speed is None else haul.speed.value
            hauled = haul.moved(who)
            carriers = [one for one in scenario.job if hauled in _taken_over(scenario, one)]
            for person in (hauled, *carriers):
                found[person] = max(found.get(person, 0.0), speed)
    return found


def _taken_over(scenario: Scenario, person: str) -> list[str]:
    steps = leaves(scenario.job.get(person, ()))
    return [step.person for step in steps if isinstance(step, TakeOver)]


def may_be_hauled(scenario: Scenario, section: Section, depths: Profile) -> bool:
    """Tell whether somebody may hang on a section of their line when the job hauls it.

    Where they wait or haul themself, and at their deepest: nobody knows when others haul.
    """
    steps = scenario.job.get(section.person, ())
    waits = [end.depth_m for end in depths.ends if isinstance(made(steps, end), WaitFor | Haul)]
    places = (depths.deepest_m, *waits)
    return any(section.top_m <= depth_m < section.bottom_m for depth_m in places)


def hauled(
    scenario: Scenario,
    option: Option,
    section: Section,
    depth_m: float,
    speed_m_s: float,
    aside_m: float = 0.0,
) -> figures.Hung:
    """Return a section as a haul pulls it, its tensions at their careful end.

    T*prod(R), with whoever its person takes over; how heavy they are and each friction at its own
    careful end, added as the root of the sum of squares, as what is independent (JCGM 100, from
    memory). What brings the load up to speed counts twice, as a spring takes a push that is there
    at once.
    """
    starts = 1.0 + 2.0 * speed_m_s / (STANDS_UP_S * GRAVITY_M_S2)
    usual_kg, careful_kg = _masses_kg(scenario, option, section.person)
    hung = figures.hang(scenario, option, section, depth_m, usual_kg * GRAVITY_M_S2, False, aside_m)
    heavier = log(careful_kg / usual_kg)
    tensions = [
        hung.load_n * starts * exp(_careful(scenario, option, section, hung.laid, k, heavier))
        for k in range(len(hung.ratios) + 1)
    ]
    ratios = tuple(tensions[k + 1] / tensions[k] for k in range(len(hung.ratios)))
    return replace(hung, load_n=tensions[-1], ratios=ratios)


def _masses_kg(scenario: Scenario, option: Option, person: str) -> tuple[float, float]:
    """Return the mass of a person and of all whom they take over, and its careful end [kg]."""
    who = [option.people[person]]
    who += [option.people[o] for o in _taken_over(scenario, person) if o in option.people]
    usual_kg = sum(one.mass.value for one in who)
    return usual_kg, usual_kg + hypot(*(one.mass.high - one.mass.value for one in who))


def _careful(
    scenario: Scenario, option: Option, section: Section, laid: Laid, above: int, heavier: float
) -> float:
    """Return ln(T/load) on the anchor's side of what a section touches, at its careful end.

    Parameters: `above`: the place in what it touches; of the load's side behind all of them, how
    many there are; `heavier`: ln of how much more the load may be.
    """
    rope = scenario.ropes[section.rope].friction_factor
    below = list(zip(laid.edges, laid.bends_rad, strict=True))[above:]
    frictions = [friction_of(scenario, option, section, k) for k, _ in below]
    usual = sum(mu.value * bend for mu, (_, bend) in zip(frictions, below, strict=True))
    more = [heavier, usual * (rope.high - rope.value)]
    for mu, (k, bend) in zip(frictions, below, strict=True):
        more.append((mu.high - mu.value) * bend * rope.value)
        more.append(mu.value * _turns_more(option, section, k, bend) * rope.value)
    return usual * rope.value + hypot(*more)


def _turns_more(option: Option, section: Section, k: int, bend_rad: float) -> float:
    """Return by how much more a given bend may turn the line than its middle [rad]."""
    return line_of(option, section).over[k].bend.high - bend_rad if section.direct else 0.0
