"""Nominal records of people, lines, edges and wear."""

from __future__ import annotations

from math import inf

import numpy as np

from edgewear.case.model import Records
from edgewear.layout import EDGE, LINE, PERSON, WEAR
from edgewear.rigging.findings.control import line_of
from edgewear.rigging.model import EdgeOnLine, Section
from edgewear.scenario.models.gear import Backup, Edge, Protection, Rope
from edgewear.scenario.models.people import Person
from edgewear.scenario.models.scenario import Option, Scenario
from edgewear.terms import WORKING

REFERENCE_RADIUS_M = 1e-3
"""Radius of the bare steel arris whose severity is 1 by definition [m]."""

LAWS = {"weighted": 0, "energy": 1, "threshold": 2}


def fill_person(person: Person) -> Records:
    """PERSON (1,) of a person with their own technique."""
    record = np.zeros(1, PERSON)
    technique = person.technique
    record["mass_kg"] = person.mass.value
    record["body_stiffness_n_m"] = person.body_stiffness.value
    record["force_ratio"] = person.force_ratio.value
    record["amplitude_cv"] = technique.amplitude_cv.value
    record["timing_cv"] = technique.timing_cv.value
    record["skill"] = technique.skill.value
    record["fatigue_per_stroke"] = technique.fatigue.value
    return record


def fill_line(
    scenario: Scenario, section: Section, backup: Backup | None = None, tail_m: float = 0.0
) -> Records:
    """LINE (1,) of a section; a backup device lets rope through at its slip force.

    tail_m: rope behind the anchor, that the line does not have.
    """
    rope, record = scenario.ropes[section.rope], np.zeros(1, LINE)
    record["role"] = int(section.role != WORKING)
    record["direct"] = int(section.direct)
    record["edge_count"] = len(section.edges)
    stiffness_n = rope.stiffness.value * rope.stiffness_factor.value
    record["stiffness_n"] = stiffness_n * rope.dynamic_ratio.value
    record["viscous_s"] = rope.damping.value
    record["diameter_m"] = rope.diameter.value
    record["rope_kg_m"] = rope.mass.value
    record["anchor_m"] = section.anchor_m
    record["load_out_m"], record["load_along_m"] = section.load_m
    record["device_slip_n"] = inf if backup is None else backup.slips.value
    record["rope_m"] = rope.length.value - tail_m
    track_m = section.track_m[: record["track_m"].shape[1]]
    record["track_count"] = len(track_m)
    for k, point in enumerate(track_m):
        record["track_m"][0, k] = point
    return record


LED = {"edge": 0, "deviation": 1, "high directional": 2}
"""What a line is led through, as the kernels number it."""


def severity(scenario: Scenario, edge: Edge) -> float:
    """Wear on a bare edge relative to a steel arris of 1 mm radius [1]."""
    exponent = scenario.wear.radius_exponent.value
    return edge.roughness.value * float((edge.radius.value / REFERENCE_RADIUS_M) ** -exponent)


def fill_edge(
    scenario: Scenario,
    option: Option,
    section: Section,
    on_line: EdgeOnLine,
    state: str | None = None,
) -> Records:
    """EDGE (1,) as a section meets it, with its protection in place.

    state: dry, wet, gritty or icy; the edge's own if None.
    """
    rope, record = scenario.ropes[section.rope], np.zeros(1, EDGE)
    record["power_exponent"] = 1.0
    record["start_m"], record["end_m"] = on_line.start_m, on_line.end_m
    record["after_m"], record["bend_rad"] = on_line.after_m, on_line.bend_rad
    record["led"], record["reach_m"] = LED[on_line.kind], on_line.reach_m
    if on_line.kind != "edge":
        return _led(record, on_line, rope)
    edge = scenario.edges[on_line.name]
    record["static_ratio"] = edge.surface.static_ratio.value
    lies = state or edge.state
    record["wet_factor"] = scenario.weather[lies].value if scenario.weather else 1.0
    record = _bare(record, scenario, edge, rope)
    if on_line.protection is None:
        return record
    return _protected(
        record, cover_of(scenario, option, section, on_line.name, on_line.protection), rope
    )


def cover_of(
    scenario: Scenario, option: Option, section: Section, edge: str, kind: str
) -> Protection:
    """The protection of a kind on an edge: the line's own piece, or one from the store."""
    own = line_of(option, section).protect.get(edge)
    return own if own is not None and own.is_ == kind else scenario.protections[kind]


def _led(record: Records, on_line: EdgeOnLine, rope: Rope) -> Records:
    """A deviation's connector or a pulley: round and smooth, it takes friction but no sheath."""
    record["friction"] = (on_line.friction or 0.0) * rope.friction_factor.value
    record["static_ratio"] = record["wet_factor"] = 1.0
    record["radius_m"] = on_line.radius_m
    record["severity"] = 0.0
    return record


def _bare(record: Records, scenario: Scenario, edge: Edge, rope: Rope) -> Records:
    record["friction"] = edge.friction.value * rope.friction_factor.value
    record["radius_m"] = edge.radius.value
    record["severity"] = severity(scenario, edge)
    return record


def _protected(record: Records, protection: Protection, rope: Rope) -> Records:
    record["friction"] = protection.friction.value * rope.friction_factor.value
    record["static_ratio"] = 1.0
    record["thickness_m"] = protection.thickness.value
    record["own_radius_m"] = protection.radius.value
    spared = protection.severity.value
    record["spares"] = 1.0 / spared if spared > 0.0 else inf
    return record


def fill_wear(scenario: Scenario, section: Section) -> Records:
    """WEAR (1,) of the rope in a section.

    The sheath's section follows from its share of the mass; the part of it in contact is
    worn through when its thickness there is gone.
    """
    rope, law = scenario.ropes[section.rope], scenario.wear
    section_m2 = rope.mass.value / law.fibre_density.value
    sheath_m2 = rope.sheath_share.value * section_m2
    record = np.zeros(1, WEAR)
    contact_m2 = min(law.contact_share.value * law.rotation.value, 1.0) * sheath_m2
    record["sheath_j_m"] = law.sheath_energy.value * rope.sheath.toughness.value * contact_m2
    record["core_j_m"] = law.core_energy.value * (section_m2 - sheath_m2)
    record["core_exponent"] = law.core_exponent.value
    record["reference_pressure_pa"] = law.reference_pressure.value
    record["reference_speed_m_s"] = law.reference_speed.value
    record["cold_share"] = law.cold_share.value
    record["width_share"] = law.width_share.value
    record["arc_share"] = law.arc_share.value
    record["presliding_m"] = law.presliding.value
    record["law"] = LAWS[law.law]
    record["power_threshold_w_m2"] = law.power_threshold.value
    strength_n = rope.strength.value * rope.strength_factor.value
    record["breaking_n"] = strength_n * rope.termination.value * law.bend_strength.value
    record["core_strength_share"] = law.core_strength_share.value
    return record
