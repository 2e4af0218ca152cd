"""Records of people, lines, edges and wear, filled with the scenario's numbers or those of runs."""

from __future__ import annotations

from math import inf

import numpy as np

from edgewear.case.filling.numbers import Column, Numbers
from edgewear.case.model import Records
from edgewear.layout import EDGE, LINE, PERSON, WEAR
from edgewear.rigging.findings.control import line_of
from edgewear.rigging.model import EdgeOnLine, Section
from edgewear.scenario.models.gear import Edge, Protection, Rope
from edgewear.scenario.models.people import Person
from edgewear.scenario.models.scenario import Line, Option, Scenario
from edgewear.scenario.text.stiffness import LOAD_KG, stiffness_n
from edgewear.terms import GRAVITY_M_S2, WORKING

REFERENCE_RADIUS_M = 1e-3
"""Radius of the bare steel arris whose severity is 1 by definition [m]."""

LAWS = {"weighted": 0, "energy": 1, "threshold": 2}


FOLLOWS = ("library", "assumed")
"""Where a rope's mass comes from if nobody typed it: it follows the diameter then."""


def fill_person(name: str, person: Person, numbers: Numbers, runs: int) -> Records:
    """PERSON (runs,) of a person with their own technique."""
    record = np.zeros(runs, PERSON)
    technique, base = person.technique, f"people/{name}"
    record["mass_kg"] = numbers(f"{base}/mass", person.mass)
    record["body_stiffness_n_m"] = numbers(f"{base}/body stiffness", person.body_stiffness)
    record["force_ratio"] = numbers(f"{base}/force ratio", person.force_ratio)
    record["amplitude_cv"] = technique.amplitude_cv.value
    record["timing_cv"] = technique.timing_cv.value
    record["skill"] = technique.skill.value
    record["fatigue_per_stroke"] = technique.fatigue.value
    return record


def fill_line(
    scenario: Scenario, section: Section, line: Line, numbers: Numbers, runs: int
) -> Records:
    """LINE (runs,) of a section; a backup device lets rope through at its slip force.

    The rope behind the anchor, its tail, is none that the line has.
    """
    backup = line.backup if section.role != WORKING else None
    rope, record = scenario.ropes[section.rope], np.zeros(runs, LINE)
    base = f"ropes/{section.rope}"
    record["role"] = int(section.role != WORKING)
    record["direct"] = int(section.direct)
    record["edge_count"] = len(section.edges)
    factor = numbers(f"{base}/stiffness factor", rope.stiffness_factor)
    ratio = numbers(f"{base}/dynamic ratio", rope.dynamic_ratio)
    record["stiffness_n"] = _static_n(base, rope, numbers) * factor * ratio
    record["viscous_s"] = numbers(f"{base}/damping", rope.damping)
    record["diameter_m"] = numbers(f"{base}/diameter", rope.diameter)
    record["rope_kg_m"] = mass_kg_m(base, rope, numbers)
    record["anchor_m"] = section.anchor_m
    record["load_out_m"], record["load_along_m"] = section.load_m
    record["device_slip_n"] = inf if backup is None else backup.slips.value
    record["rope_m"] = rope.length.value - line.tail.value
    write_track(record, section)
    return record


def write_track(record: Records, section: Section) -> None:
    """Write the way on which face and deviations lead a section's load into LINE (runs,)."""
    track_m = section.track_m[: record["track_m"].shape[1]]
    record["track_count"] = len(track_m)
    for k, point in enumerate(track_m):
        record["track_m"][:, k] = point


def _static_n(base: str, rope: Rope, numbers: Numbers) -> Column:
    """Static stiffness [N]; it follows the elongation unless a stiffness was typed beside it."""
    if follows_elongation(rope) and rope.elongation is not None:
        return LOAD_KG * GRAVITY_M_S2 / numbers(f"{base}/elongation", rope.elongation)
    return numbers(f"{base}/stiffness", rope.stiffness)


def follows_elongation(rope: Rope) -> bool:
    """Tell whether a rope's stiffness is that of its elongation."""
    return rope.elongation is not None and bool(
        rope.stiffness.value == stiffness_n(rope.elongation.value)
    )


def mass_kg_m(base: str, rope: Rope, numbers: Numbers) -> Column:
    """Mass of a metre [kg/m]: as typed, or a library's mass with the section of the diameter."""
    own = numbers(f"{base}/mass", rope.mass)
    name = f"{base}/diameter"
    if numbers.moves(f"{base}/mass") or not numbers.moves(name) or rope.mass.basis not in FOLLOWS:
        return own
    return own * (numbers(name, rope.diameter) / rope.diameter.value) ** 2


LED = {"edge": 0, "deviation": 1, "high directional": 2}
"""What a line is led through, as the kernels number it."""


def severity(scenario: Scenario, name: str, edge: Edge, numbers: Numbers) -> Column:
    """Wear on an edge itself relative to a steel arris of 1 mm radius [1]."""
    exponent = numbers("wear/radius exponent", scenario.wear.radius_exponent)
    radius_m = numbers(f"edges/{name}/radius", edge.radius)
    roughness = numbers(f"edges/{name}/roughness", edge.roughness)
    return roughness * (radius_m / REFERENCE_RADIUS_M) ** -exponent


def fill_edge(
    scenario: Scenario,
    option: Option,
    section: Section,
    on_line: EdgeOnLine,
    numbers: Numbers,
    runs: int,
    state: str | None = None,
) -> Records:
    """EDGE (runs,) as a section meets it, with its protection in place.

    state: dry, wet, gritty or icy; the edge's own if None.
    """
    record = np.zeros(runs, EDGE)
    record["power_exponent"] = 1.0
    record["start_m"], record["end_m"] = on_line.start_m, on_line.end_m
    record["led"], record["reach_m"] = LED[on_line.kind], on_line.reach_m
    rope = scenario.ropes[section.rope]
    rough = numbers(f"ropes/{section.rope}/friction factor", rope.friction_factor)
    if on_line.kind != "edge":
        return _led(record, on_line, rough)
    if section.direct:
        _given(record, option, section, on_line, numbers)
    edge = scenario.edges[on_line.name]
    record["static_ratio"] = edge.surface.static_ratio.value
    lies = state or edge.state
    record["wet_factor"] = 1.0
    if scenario.weather:
        record["wet_factor"] = numbers(f"weather/{lies}", scenario.weather[lies])
    record = _bare(record, scenario, on_line.name, rough, numbers)
    if on_line.protection is None:
        return record
    cover = cover_of(scenario, option, section, on_line.name, on_line.protection)
    return _protected(
        record, f"protection/{on_line.name}/{on_line.protection}", cover, rough, numbers
    )


def _given(
    record: Records, option: Option, section: Section, on_line: EdgeOnLine, numbers: Numbers
) -> None:
    """Length and bend typed for an edge; named by the edge, so that like options vary alike."""
    typed = (on_line.name, on_line.after_m, on_line.bend_rad)
    over = line_of(option, section).over
    passed = next(p for p in over if (p.edge, p.after.value, p.bend.value) == typed)
    base = f"over/{section.person}/{section.role}/{on_line.name}"
    record["after_m"] = numbers(f"{base}/after", passed.after)
    record["bend_rad"] = numbers(f"{base}/bend", passed.bend)


def cover_of(
    scenario: Scenario, option: Option, section: Section, edge: str, kind: str
) -> Protection:
    """The protection of a kind on an edge: the line's own piece, or one from the store."""
    own = line_of(option, section).protect.get(edge)
    return own if own is not None and own.is_ == kind else scenario.protections[kind]


def _led(record: Records, on_line: EdgeOnLine, rough: Column) -> Records:
    """A deviation's connector or a pulley: round and smooth, it takes friction but no sheath."""
    record["friction"] = (on_line.friction or 0.0) * rough
    record["static_ratio"] = record["wet_factor"] = 1.0
    record["radius_m"] = on_line.radius_m
    record["severity"] = 0.0
    return record


def _bare(
    record: Records, scenario: Scenario, name: str, rough: Column, numbers: Numbers
) -> Records:
    edge = scenario.edges[name]
    record["friction"] = numbers(f"edges/{name}/friction", edge.friction) * rough
    record["radius_m"] = numbers(f"edges/{name}/radius", edge.radius)
    record["severity"] = severity(scenario, name, edge, numbers)
    return record


def _protected(
    record: Records, base: str, protection: Protection, rough: Column, numbers: Numbers
) -> Records:
    """Each piece of protection has numbers of its own, the same piece in every option."""
    record["friction"] = numbers(f"{base}/friction", protection.friction) * rough
    record["static_ratio"] = 1.0
    record["thickness_m"] = numbers(f"{base}/thickness", protection.thickness)
    record["own_radius_m"] = numbers(f"{base}/radius", protection.radius)
    spared = np.asarray(numbers(f"{base}/severity", protection.severity))
    with np.errstate(divide="ignore"):  # what wears nothing spares all
        record["spares"] = np.where(spared > 0.0, 1.0 / spared, inf)
    return record


SET_BY_LAW = (
    "core exponent", "reference pressure", "reference speed", "cold share", "width share",
    "arc share", "presliding", "core strength share", "core weakening",
)  # fmt: skip
"""Numbers of the wear law that the kernels take as they are."""

FIELDS = {
    "reference pressure": "reference_pressure_pa",
    "reference speed": "reference_speed_m_s",
    "presliding": "presliding_m",
}
"""Fields of WEAR whose names have a unit."""


def fill_wear(scenario: Scenario, section: Section, numbers: Numbers, runs: int) -> Records:
    """WEAR (runs,) of the rope in a section.

    The sheath's section follows from its share of the mass; the part of it in contact is
    worn through when its thickness there is gone.
    """
    rope, law, base = scenario.ropes[section.rope], scenario.wear, f"ropes/{section.rope}"

    def wear(word: str) -> Column:
        return numbers(f"wear/{word}", getattr(law, word.replace(" ", "_")))

    record = np.zeros(runs, WEAR)
    section_m2 = mass_kg_m(base, rope, numbers) / law.fibre_density.value
    sheath_m2 = numbers(f"{base}/sheath share", rope.sheath_share) * section_m2
    contact_m2 = np.minimum(wear("contact share") * wear("rotation"), 1.0) * sheath_m2
    withstood = wear("sheath energy") * numbers(f"{base}/sheath/toughness", rope.sheath.toughness)
    record["sheath_j_m"] = withstood * contact_m2 / wear("discrepancy")
    record["core_j_m"] = wear("core energy") * (section_m2 - sheath_m2) / wear("discrepancy")
    for word in SET_BY_LAW:
        record[FIELDS.get(word, word.replace(" ", "_"))] = wear(word)
    record["law"] = LAWS[law.law]
    record["power_threshold_w_m2"] = law.power_threshold.value
    factor = numbers(f"{base}/strength factor", rope.strength_factor)
    strength_n = numbers(f"{base}/strength", rope.strength) * factor
    left = numbers(f"{base}/termination", rope.termination)
    record["breaking_n"] = strength_n * left * wear("bend strength")
    return record
