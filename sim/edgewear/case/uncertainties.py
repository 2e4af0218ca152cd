"""Which numbers of a case may vary, under the address the scenario gives them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Literal, NamedTuple

from edgewear.case.correlations import Correlation, Leans, common_lean, fitted_leans
from edgewear.case.deviation_targets import face_targets, led_targets
from edgewear.case.edge_conditions import BYPASS, Condition
from edgewear.case.model import ArrayName, How, Pattern, Target, Uncertainty
from edgewear.case.nominal_records import REFERENCE_RADIUS_M, cover_of
from edgewear.case.past_wear import Z95
from edgewear.case.work_targets import work_targets
from edgewear.errors import Problem, ScenarioError
from edgewear.layout import Kind
from edgewear.rigging.findings.control import line_of
from edgewear.rigging.model import Rigged, Section
from edgewear.scenario.models.gear import Edge, Rope
from edgewear.scenario.models.scenario import Anchor, Option, Scenario
from edgewear.scenario.models.steps import Work
from edgewear.scenario.models.walking import leaves
from edgewear.scenario.text.quantities import Measured

Place = tuple[int, int, Section]
"""Row of the section, column of the edge in it, the section."""


OF_THIS_ROPE = (
    "elongation", "stiffness", "diameter", "sheath share", "strength", "termination", "rotation",
)  # fmt: skip
"""What differs from rope to rope: aleatory, as the strokes are; the rest is what nobody knows."""


class Spot(NamedTuple):
    """A record of an edge, and what the edge is there."""

    array: Literal["edges", "variants"]
    where: tuple[int, ...]
    cover: str | None
    state: str | None  # None: the edge's own
    section: Section


def uncertainties(
    scenario: Scenario,
    option: Option,
    rigged: Rigged,
    patterns: tuple[Pattern, ...],
    people: tuple[str, ...],
    conditions: tuple[Condition, ...] = (),
) -> tuple[Uncertainty, ...]:
    """Every number that may vary in this option, in a fixed order.

    conditions: of the case's variants, whose numbers vary with those of the edges themselves.
    """
    found = [
        *_people(option, people, scenario.wear.correlation),
        *_techniques(scenario, patterns),
        *_lasting(scenario, people),
        *(
            _make(name, "technique", value, targets)
            for name, (value, targets) in work_targets(scenario, people).items()
        ),
        *_ropes(scenario, rigged),
        *_rope_conditions(scenario, rigged, conditions),
        *_past_wear(scenario, rigged),
        *_wear(scenario, rigged),
        *_edges(scenario, rigged, conditions),
        *_protections(scenario, option, rigged, conditions),
        *_anchors(scenario, rigged),
        *_bends(scenario, option, rigged),
    ]
    return tuple(u for u in found if u.targets)


def _make(
    name: str, group: str, value: Measured, targets: Iterable[Target], leans: Leans = ()
) -> Uncertainty:
    source = value.pedigree or value.basis
    kind = "aleatory" if name.rpartition("/")[2] in OF_THIS_ROPE else "epistemic"
    return Uncertainty(
        name, group, value.distribution, value.value, value.low, value.high, value.unit, kind,
        source, tuple(targets), leans,
    )  # fmt: skip


def _people(
    option: Option, people: tuple[str, ...], correlation: Correlation
) -> Iterator[Uncertainty]:
    for row, name in enumerate(people):
        person, base = option.people[name], f"people/{name}"
        for word, value, field in (
            ("mass", person.mass, "mass_kg"),
            ("body stiffness", person.body_stiffness, "body_stiffness_n_m"),
            ("force ratio", person.force_ratio, "force_ratio"),
        ):
            leans = common_lean(word, correlation)
            yield _make(f"{base}/{word}", "body", value, [Target("people", (row,), field)], leans)


def _techniques(scenario: Scenario, patterns: tuple[Pattern, ...]) -> Iterator[Uncertainty]:
    rows: dict[str, list[int]] = {}
    for index, pattern in enumerate(patterns):
        rows.setdefault(pattern.technique, []).append(index)
    for word, indices in rows.items():
        technique = scenario.techniques.get(word)
        if technique is None:  # a person's own numbers are as sure as they were typed
            continue
        for name, value, field, how in (
            ("rise", technique.rise, "rise_m", "scale"),
            ("sit back", technique.sit_back, "sit_back_m", "shift"),
            ("rise time", technique.rise_time, "rise_s", "scale"),
            ("drop time", technique.drop_time, "drop_s", "scale"),
            ("pause time", technique.pause_time, "pause_s", "scale"),
        ):
            targets = [Target("tape", (i,), field, how=how) for i in indices]  # type: ignore[arg-type]
            yield _make(f"techniques/{word}/{name}", "technique", value, targets)


def _lasting(scenario: Scenario, people: tuple[str, ...]) -> Iterator[Uncertainty]:
    """How long work in place takes, where a step says it in a range.

    Other durations wear no rope. Of a repeat only its one work step: two cannot be told apart.
    """
    for row, name in enumerate(people):
        for number, step in enumerate(scenario.job.get(name, ()), start=1):
            works = [s for s in leaves((step,)) if isinstance(s, Work)]
            if len(works) == 1 and not works[0].for_.is_exact:
                kinds = (Kind.WORK, Kind.HOLD) if isinstance(step, Work) else (Kind.WORK,)
                targets = [
                    Target("tape", (row, number, kind), field, how="scale")
                    for kind in kinds
                    for field in ("duration_ticks", "cut_ticks")
                ]
                yield _make(f"job/{name}/{number}/for", "technique", works[0].for_, targets)


def _ropes(scenario: Scenario, rigged: Rigged) -> Iterator[Uncertainty]:
    for name, rope in scenario.ropes.items():
        rows = [i for i, s in enumerate(rigged.sections) if s.rope == name]
        yield from _rope(f"ropes/{name}", rope, rows, scenario.wear.correlation)


def _rope(
    base: str, rope: Rope, rows: list[int], correlation: Correlation
) -> Iterator[Uncertainty]:
    def scaled(array: ArrayName, field: str, power: float = 1.0) -> list[Target]:
        return [Target(array, (i,), field, how="scale", power=power) for i in rows]

    if rope.elongation is not None:
        yield _make(
            f"{base}/elongation", "rope", rope.elongation, scaled("lines", "stiffness_n", -1)
        )
    else:
        yield _make(f"{base}/stiffness", "rope", rope.stiffness, scaled("lines", "stiffness_n"))
    yield _make(f"{base}/dynamic ratio", "rope", rope.dynamic_ratio, scaled("lines", "stiffness_n"))
    slow = [Target("lines", (i,), "viscous_s") for i in rows]
    yield _make(f"{base}/damping", "rope", rope.damping, slow, common_lean("damping", correlation))
    width = [Target("lines", (i,), "diameter_m") for i in rows]
    yield _make(f"{base}/diameter", "rope", rope.diameter, width)
    share = rope.sheath_share.value  # what the sheath has more, the core has less
    split = scaled("wear", "sheath_j_m") + scaled("wear", "core_j_m", -share / (1.0 - share))
    yield _make(f"{base}/sheath share", "rope", rope.sheath_share, split)
    yield _make(f"{base}/strength", "rope", rope.strength, scaled("wear", "breaking_n"))
    yield _make(f"{base}/termination", "rope", rope.termination, scaled("wear", "breaking_n"))
    toughness = rope.sheath.toughness
    yield _make(f"{base}/sheath/toughness", "rope", toughness, scaled("wear", "sheath_j_m"))


def _rope_conditions(
    scenario: Scenario, rigged: Rigged, conditions: tuple[Condition, ...]
) -> Iterator[Uncertainty]:
    """What a rope has been through: nobody knows how much softer, weaker or rougher it is."""
    for name, rope in scenario.ropes.items():
        base, rows = f"ropes/{name}", [i for i, s in enumerate(rigged.sections) if s.rope == name]
        soft = [Target("lines", (i,), "stiffness_n", how="scale") for i in rows]
        yield _make(f"{base}/stiffness factor", "rope", rope.stiffness_factor, soft)
        weak = [Target("wear", (i,), "breaking_n", how="scale") for i in rows]
        yield _make(f"{base}/strength factor", "rope", rope.strength_factor, weak)
        rough = [
            Target("edges", (i, j), "friction", how="scale")
            for i in rows
            for j in range(len(rigged.sections[i].edges))
        ]
        rough += [
            Target("variants", (k,), "friction", how="scale")
            for k, condition in enumerate(conditions)
            if condition.row in rows
        ]
        yield _make(f"{base}/friction factor", "friction", rope.friction_factor, rough)


def _past_wear(scenario: Scenario, rigged: Rigged) -> Iterator[Uncertainty]:
    """How worn a rope is before the job: all its worn parts rise and fall together."""
    for name, rope in scenario.ropes.items():
        sections = enumerate(rigged.sections)
        targets = [Target("past", (row,), "z") for row, s in sections if s.rope == name]
        if rope.worn and targets:
            source = rope.record or rope.worn[0].sheath.pedigree or rope.worn[0].sheath.basis
            yield Uncertainty(
                f"ropes/{name}/past wear", "wear", "normal", 0.0, -Z95, Z95, "1", "epistemic",
                source, tuple(targets),
            )  # fmt: skip


def _wear(scenario: Scenario, rigged: Rigged) -> Iterator[Uncertainty]:
    law, rows = scenario.wear, range(len(rigged.sections))

    def to(field: str, how: How = "set", power: float = 1.0) -> list[Target]:
        return [Target("wear", (i,), field, None, how, power) for i in rows]

    leans = _leans(scenario)

    def fitted(word: str, value: Measured, targets: list[Target]) -> Uncertainty:
        return _make(f"wear/{word}", "wear", value, targets, leans[word])

    yield fitted("sheath energy", law.sheath_energy, to("sheath_j_m", "scale"))
    yield _make("wear/contact share", "wear", law.contact_share, to("sheath_j_m", "scale"))
    yield _make("wear/rotation", "rope", law.rotation, to("sheath_j_m", "scale"))
    yield fitted("core energy", law.core_energy, to("core_j_m", "scale"))
    yield _make("wear/core exponent", "wear", law.core_exponent, to("core_exponent"))
    yield _make(
        "wear/reference pressure", "wear", law.reference_pressure, to("reference_pressure_pa")
    )
    yield _make("wear/reference speed", "wear", law.reference_speed, to("reference_speed_m_s"))
    yield _make("wear/cold share", "wear", law.cold_share, to("cold_share"))
    yield _make("wear/width share", "wear", law.width_share, to("width_share"))
    yield _make("wear/arc share", "wear", law.arc_share, to("arc_share"))
    yield _make("wear/presliding", "wear", law.presliding, to("presliding_m"))
    yield _make("wear/bend strength", "wear", law.bend_strength, to("breaking_n", "scale"))
    share = law.core_strength_share
    yield _make("wear/core strength share", "wear", share, to("core_strength_share"))
    both = [*to("sheath_j_m", "scale", -1.0), *to("core_j_m", "scale", -1.0)]
    yield _make("wear/discrepancy", "discrepancy", law.discrepancy, both)


def _leans(scenario: Scenario) -> dict[str, Leans]:
    """How the fitted numbers lean on each other.

    Raises:
        ScenarioError: correlations that cannot be drawn.
    """
    try:
        return fitted_leans(scenario.wear.correlation)
    except ValueError as error:
        problem = Problem(scenario.path, 0, 0, "wear/correlation", str(error))
        raise ScenarioError([problem]) from error


def _on_edges(rigged: Rigged, name: str) -> list[Place]:
    return [
        (i, j, section)
        for i, section in enumerate(rigged.sections)
        for j, edge in enumerate(section.edges)
        if edge.kind == "edge" and edge.name == name
    ]


def _spots(rigged: Rigged, conditions: tuple[Condition, ...], name: str) -> Iterator[Spot]:
    """Every record of an edge: as the sections meet it at the start, and as it may become."""
    for i, j, section in _on_edges(rigged, name):
        yield Spot("edges", (i, j), section.edges[j].protection, None, section)
    for k, c in enumerate(conditions):
        section = rigged.sections[c.row]
        if section.edges[c.edge].name == name:
            yield Spot("variants", (k,), c.cover, c.state, section)


def _edges(
    scenario: Scenario, rigged: Rigged, conditions: tuple[Condition, ...]
) -> Iterator[Uncertainty]:
    exponent = scenario.wear.radius_exponent.value
    yield _sharpness(scenario, rigged, conditions)
    for name, edge in scenario.edges.items():
        places = _on_edges(rigged, name)
        every = list(_spots(rigged, conditions, name))
        bare = [s for s in every if s.cover in (None, BYPASS)]
        base = f"edges/{name}"
        friction = [Target(s.array, s.where, "friction", how="scale") for s in bare]
        radius = [Target(s.array, s.where, "radius_m") for s in every]
        sharpness = [Target(s.array, s.where, "severity", None, "scale", -exponent) for s in every]
        rough = [Target(s.array, s.where, "severity", how="scale") for s in every]
        steel = edge.surface.name == "steel"
        common = common_lean("friction of steel", scenario.wear.correlation) if steel else ()
        yield _make(f"{base}/friction", "friction", edge.friction, friction, common)
        yield _make(f"{base}/radius", "survey", edge.radius, [*radius, *sharpness])
        yield _make(f"{base}/roughness", "wear", edge.roughness, rough)
        yield from _edge_place(name, edge, [(i, j) for i, j, _ in places], rigged)
    yield from _weather(scenario, rigged, conditions)


def _sharpness(
    scenario: Scenario, rigged: Rigged, conditions: tuple[Condition, ...]
) -> Uncertainty:
    """How severity falls with the radius, on every edge."""
    targets = [
        Target(s.array, s.where, "severity", None, "exponent", REFERENCE_RADIUS_M / radius_m)
        for name, radius_m in ((n, e.radius.value) for n, e in scenario.edges.items())
        for s in _spots(rigged, conditions, name)
    ]
    return _make("wear/radius exponent", "wear", scenario.wear.radius_exponent, targets)


def _edge_place(
    name: str, edge: Edge, places: list[tuple[int, int]], rigged: Rigged
) -> Iterator[Uncertainty]:
    """Coordinates of an edge that runs along the face; both its ends move together.

    So does the way on which a load passes it.
    """
    for component, (word, value) in enumerate(
        (("out", edge.out), ("along", edge.along), ("up", edge.up))
    ):
        if value is not None:
            targets = [
                Target("edges", p, field, component, "shift")
                for p in places
                for field in ("start_m", "end_m")
            ]
            targets += face_targets(rigged, name, component) if targets else []
            yield _make(f"edges/{name}/{word}", "survey", value, targets)


def _weather(
    scenario: Scenario, rigged: Rigged, conditions: tuple[Condition, ...]
) -> Iterator[Uncertainty]:
    for state, factor in scenario.weather.items():
        targets = [
            Target(s.array, s.where, "wet_factor")
            for name, edge in scenario.edges.items()
            for s in _spots(rigged, conditions, name)
            if (s.state or edge.state) == state
        ]
        yield _make(f"weather/{state}", "wear", factor, targets)


def _protections(
    scenario: Scenario, option: Option, rigged: Rigged, conditions: tuple[Condition, ...]
) -> Iterator[Uncertainty]:
    """Each piece of protection has numbers of its own, the same piece in every option."""
    pieces: dict[tuple[str, str], list[Spot]] = {}
    for name in scenario.edges:
        for spot in _spots(rigged, conditions, name):
            if spot.cover not in (None, BYPASS):
                pieces.setdefault((name, str(spot.cover)), []).append(spot)
    for (name, word), spots in pieces.items():
        kind = cover_of(scenario, option, spots[0].section, name, word)
        base = f"protection/{name}/{word}"
        slides = [Target(s.array, s.where, "friction", how="scale") for s in spots]
        yield _make(f"{base}/friction", "protection", kind.friction, slides)
        wears = [Target(s.array, s.where, "spares", how="scale", power=-1.0) for s in spots]
        yield _make(f"{base}/severity", "protection", kind.severity, wears)
        bends = [Target(s.array, s.where, "own_radius_m") for s in spots]
        yield _make(f"{base}/radius", "protection", kind.radius, bends)
        lifts = [Target(s.array, s.where, "thickness_m") for s in spots]
        yield _make(f"{base}/thickness", "protection", kind.thickness, lifts)


def _anchors(scenario: Scenario, rigged: Rigged) -> Iterator[Uncertainty]:
    for name, anchor in scenario.anchors.items():
        rows = [i for i, s in enumerate(rigged.sections) if s.anchor == name and not s.direct]
        yield from _anchor(name, anchor, rows, rigged)


def _anchor(name: str, anchor: Anchor, rows: list[int], rigged: Rigged) -> Iterator[Uncertainty]:
    words = (("out", anchor.out), ("along", anchor.along), ("up", anchor.up))
    for component, (word, value) in enumerate(words):
        if value is not None:
            targets = [Target("lines", (i,), "anchor_m", component) for i in rows]
            targets += led_targets(rigged, name, component)
            yield _make(f"anchors/{name}/{word}", "survey", value, targets)


def _bends(scenario: Scenario, option: Option, rigged: Rigged) -> Iterator[Uncertainty]:
    """Bends and lengths given directly; named by the edge, so that like options vary alike."""
    for i, section in enumerate(rigged.sections):
        if section.direct:
            for j, passed in enumerate(line_of(option, section).over):
                base = f"over/{section.person}/{section.role}/{passed.edge}"
                after, bend = (
                    Target("edges", (i, j), "after_m"),
                    Target("edges", (i, j), "bend_rad"),
                )
                yield _make(f"{base}/after", "survey", passed.after, [after])
                yield _make(f"{base}/bend", "survey", passed.bend, [bend])
