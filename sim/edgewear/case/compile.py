"""From an option of a scenario to a case: every number resolved once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from math import ceil

import numpy as np

from edgewear.case.edge_conditions import conditions_of
from edgewear.case.fallback import with_fallbacks
from edgewear.case.filling.filler import Filler
from edgewear.case.filling.numbers import Numbers
from edgewear.case.filling.recipe import Recipe
from edgewear.case.heat import fill_heat, heat_of_conditions
from edgewear.case.model import Case, Pattern
from edgewear.case.past_wear import PAST, pasts
from edgewear.case.uncertainties import uncertainties
from edgewear.layout import MOVEMENT
from edgewear.rigging import rig
from edgewear.scenario.models.people import Person, Technique
from edgewear.scenario.models.scenario import Option, Scenario
from edgewear.scenario.models.steps import Ascend, Lower, Repeat, ShiftRope, Step
from edgewear.scenario.models.walking import leaves


def compile_case(scenario: Scenario, option: str) -> Case:
    """Compile one option.

    Raises:
        ScenarioError: the option cannot be rigged as written.
    """
    rigged, fallbacks = with_fallbacks(scenario, option, rig(scenario, option))
    chosen = scenario.options[option]
    people = tuple(chosen.people)
    patterns = tuple(_patterns(scenario, chosen, people))
    worn = pasts(scenario, chosen, rigged)
    conditions = conditions_of(scenario, chosen, rigged)
    recipe, numbers = Recipe(scenario, chosen, rigged, patterns, people, conditions), Numbers()
    filled = {name: array[0] for name, array in recipe.arrays(numbers).items()}
    case = Case(
        option=option,
        **filled,
        person_names=people,
        line_names=tuple(s.line for s in rigged.sections),
        edge_names=tuple(tuple(e.name for e in s.edges) for s in rigged.sections),
        patterns=patterns,
        uncertainties=uncertainties(recipe, numbers.asked),
        rigged=rigged,
        conditions=conditions,
        fallbacks=fallbacks,
        let_out_m=_let_out_m(scenario.job.values()) + _shifted_m(scenario, chosen, patterns),
        past=np.zeros(len(worn), PAST),
        pasts=worn if any(one is not None for one in worn) else (),
        heat=fill_heat(scenario, chosen, rigged),
        heat_of_conditions=heat_of_conditions(scenario, chosen, rigged, conditions),
        filler=Filler(recipe),
    )
    nominal = case.marks(case.batch(np.zeros(0, MOVEMENT), {}, 1), {})
    named = (name for name in nominal.extrapolated[0].split(", ") if name)
    return replace(case, extrapolated=tuple(named))


def _let_out_m(jobs: Iterable[tuple[Step, ...]]) -> float:
    """Rope that all steps together let out at the anchors [m]."""
    total = 0.0
    for step in (step for steps in jobs for step in steps):
        if isinstance(step, Repeat):
            total += step.times * _let_out_m([step.steps])
        elif isinstance(step, Lower):
            total += step.height.value
        elif isinstance(step, ShiftRope):
            total += step.by.value
    return total


def _shifted_m(scenario: Scenario, option: Option, patterns: Sequence[Pattern]) -> float:
    """Rope that climbs let through at the anchors, where a line is shifted after some strokes [m].

    At most: by whoever rises least in a stroke, and no more than there is rope; in whole metres, so
    that the cells of rope lie where they would without.
    """
    total = 0.0
    for row, name in enumerate(option.people):
        lines = option.lines.get(name)
        shift = None if lines is None else lines.working.shift
        if lines is None or shift is None:
            continue
        rise_m = min(one.rise_m for one in patterns if one.person == row)
        gains_m = shift.every * rise_m - shift.by.value  # by so many strokes and a shift
        climbs_m = _climbed_m(scenario.job.get(name, ()))
        rope_m = scenario.ropes[lines.working.rope].length.value
        total += min(climbs_m / gains_m * shift.by.value, rope_m) if gains_m > 0.0 else rope_m
    return float(ceil(total))


def _climbed_m(steps: Iterable[Step]) -> float:
    """Height that all climbs together gain [m]."""
    return sum(
        step.times * _climbed_m(step.steps) if isinstance(step, Repeat) else step.height.value
        for step in steps
        if isinstance(step, Repeat | Ascend)
    )


def _patterns(scenario: Scenario, option: Option, names: tuple[str, ...]) -> Iterable[Pattern]:
    """Every pairing of a person with a technique and a system they may be asked for."""
    for row, name in enumerate(names):
        person = option.people[name]
        techniques = {**scenario.techniques, person.technique.name: person.technique}
        steps = leaves(scenario.job.get(name, ()))
        systems = {s.system for s in steps if isinstance(s, Ascend) and s.system is not None}
        for word, technique in techniques.items():
            yield _pattern(row, person, word, technique)
            for system in sorted(systems):
                other = person.model_copy(update={"system": scenario.systems[system]})
                yield _pattern(row, other, word, technique, system)


def _pattern(
    row: int, person: Person, word: str, technique: Technique, system: str = ""
) -> Pattern:
    speed, way = technique.descent_speed.value, technique.stop_distance.value
    return Pattern(
        person=row,
        technique=word,
        rise_m=technique.rise.value * person.system.rise_factor.value,
        sit_back_m=technique.sit_back.value + person.system.slack.value,
        rise_s=technique.rise_time.value,
        drop_s=technique.drop_time.value,
        pause_s=technique.pause_time.value,
        descent_m_s=speed,
        stop_s=2.0 * way / speed,  # an even slowing from `speed` to rest over `way`
        stop_every_m=technique.stop_every.value,
        system=system,
    )
