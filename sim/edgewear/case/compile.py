"""From an option of a scenario to a case: every number resolved once."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from edgewear.case.domain import outside
from edgewear.case.edge_conditions import variants
from edgewear.case.fallback import with_fallbacks
from edgewear.case.heat import fill_heat
from edgewear.case.model import Case, Pattern, Records
from edgewear.case.nominal_records import fill_edge, fill_line, fill_person, fill_wear
from edgewear.case.past_wear import PAST, pasts
from edgewear.case.uncertainties import uncertainties
from edgewear.layout import EDGE, LINE, MAX_EDGES, PERSON, WEAR
from edgewear.rigging import rig
from edgewear.rigging.findings.control import line_of
from edgewear.rigging.model import Rigged
from edgewear.scenario.models.people import Person, Technique
from edgewear.scenario.models.scenario import Option, Scenario
from edgewear.scenario.models.steps import Ascend, Lower, Repeat, ShiftRope, Step
from edgewear.scenario.models.walking import leaves
from edgewear.terms import SAFETY


def compile_case(scenario: Scenario, option: str) -> Case:
    """Compile one option.

    Raises:
        ScenarioError: the option cannot be rigged as written.
    """
    rigged, fallbacks = with_fallbacks(scenario, option, rig(scenario, option))
    chosen = scenario.options[option]
    people = tuple(chosen.people)
    patterns = tuple(_patterns(scenario, chosen, people))
    changed, conditions = variants(scenario, chosen, rigged)
    worn = pasts(scenario, chosen, rigged)
    return Case(
        option=option,
        people=_people(chosen, people),
        lines=_lines(scenario, chosen, rigged),
        edges=_edges(scenario, chosen, rigged),
        wear=np.concatenate([fill_wear(scenario, s) for s in rigged.sections]).astype(WEAR),
        person_names=people,
        line_names=tuple(s.line for s in rigged.sections),
        edge_names=tuple(tuple(e.name for e in s.edges) for s in rigged.sections),
        patterns=patterns,
        uncertainties=uncertainties(scenario, chosen, rigged, patterns, people, conditions),
        rigged=rigged,
        variants=changed,
        conditions=conditions,
        fallbacks=fallbacks,
        let_out_m=_let_out_m(scenario.job.values()),
        past=np.zeros(len(worn), PAST),
        pasts=worn if any(one is not None for one in worn) else (),
        heat=fill_heat(scenario, chosen, rigged),
        extrapolated=outside(scenario, chosen, rigged),
    )


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


def _people(option: Option, names: Iterable[str]) -> Records:
    """PERSON records in the order of the option's people."""
    records = [fill_person(option.people[name]) for name in names]
    return np.concatenate(records).astype(PERSON)


def _lines(scenario: Scenario, option: Option, rigged: Rigged) -> Records:
    """LINE records in the order of the sections; safety lines end in a backup device."""
    records = [
        fill_line(scenario, s, line.backup if s.role == SAFETY else None, line.tail.value)
        for s, line in ((s, line_of(option, s)) for s in rigged.sections)
    ]
    return np.concatenate(records).astype(LINE)


def _edges(scenario: Scenario, option: Option, rigged: Rigged) -> Records:
    """EDGE records (sections, MAX_EDGES); unused rows stay zero."""
    edges = np.zeros((len(rigged.sections), MAX_EDGES), EDGE)
    for row, section in enumerate(rigged.sections):
        for column, edge in enumerate(section.edges):
            edges[row, column] = fill_edge(scenario, option, section, edge)
    return edges


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
