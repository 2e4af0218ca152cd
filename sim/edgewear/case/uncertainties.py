"""Which numbers of a case may vary, under the address the scenario gives them."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from math import inf, log

from edgewear.case.correlations import Correlation, Leans, common_lean, fitted_leans
from edgewear.case.edge_conditions import BYPASS
from edgewear.case.filling.following import PLACES
from edgewear.case.filling.recipe import RISES, Recipe, attribute
from edgewear.case.filling.work_numbers import ways_that_vary
from edgewear.case.model import Shift, Uncertainty
from edgewear.case.nominal_records import cover_of, follows_elongation
from edgewear.case.past_wear import Z95
from edgewear.errors import Problem, ScenarioError
from edgewear.rigging.findings.control import line_of
from edgewear.rigging.model import Rigged
from edgewear.scenario.models.gear import Edge, Rope
from edgewear.scenario.models.scenario import Anchor, Scenario
from edgewear.scenario.models.steps import Ascend, Work
from edgewear.scenario.models.walking import leaves
from edgewear.scenario.read.assemble import MACHINE
from edgewear.scenario.text.quantities import Measured

OF_THIS_ROPE = (
    "elongation", "stiffness", "diameter", "sheath share", "strength", "termination", "rotation",
)  # fmt: skip
"""What differs from rope to rope: aleatory, as the strokes are; the rest is what nobody knows."""

MOST = dict.fromkeys(
    (
        "strength factor", "termination", "sheath share", "contact share", "core strength share",
        "bend strength",
    ),
    1.0,
)  # fmt: skip
"""Shares of a whole: no rope is stronger than new, none has more sheath than mass."""

Z_95, MILLIONTH = 1.6449, 4.7534
"""Standard normal quantiles at 0.95 and at one less a millionth [1]."""

CUT = "draws beyond {} are physically impossible and left out"


def uncertainties(recipe: Recipe, asked: Collection[str]) -> tuple[Uncertainty, ...]:
    """Every number that may vary in this option, in a fixed order.

    Parameters:
        recipe: what the case's arrays are filled from.
        asked: names of the numbers that filled them; what nothing asks for has no effect.
    """
    scenario, rigged = recipe.scenario, recipe.rigged
    found = [
        *_people(recipe),
        *_ropes(scenario),
        *_rope_conditions(scenario),
        *_wear(scenario),
        *_edges(scenario),
        *_weather(scenario),
        *_protections(recipe),
        *_bends(recipe),
    ]
    return (
        *(u for u in found[: _first(found, "ropes/")] if u.name in asked),
        *_techniques(recipe),
        *_lasting(recipe),
        *_working(recipe),
        *(u for u in found[_first(found, "ropes/") :] if u.name in asked),
        *_past_wear(scenario, rigged),
        *(u for u in _edge_places(recipe) if u.shifts),
        *(u for u in _anchors(scenario, rigged) if u.shifts),
    )


def _first(found: list[Uncertainty], start: str) -> int:
    return next((i for i, u in enumerate(found) if u.name.startswith(start)), len(found))


def _make(
    name: str, group: str, value: Measured, leans: Leans = (), shifts: tuple[Shift, ...] = ()
) -> Uncertainty:
    word = name.rpartition("/")[2]
    kind = "aleatory" if word in OF_THIS_ROPE else "epistemic"
    most, source = MOST.get(word, inf), value.pedigree or value.basis
    if beyond(value, most):
        source = f"{source}; {CUT.format(f'{most:g}')}"
    return Uncertainty(
        name, group, value.distribution, value.value, value.low, value.high, value.unit, kind,
        source, leans, shifts, most,
    )  # fmt: skip


def beyond(value: Measured, most: float) -> bool:
    """Tell whether one draw in a million of a quantity would pass what is physically possible."""
    if value.distribution not in ("normal", "lognormal") or value.high <= value.value:
        return False
    ends = value.value, value.high, most
    if value.distribution == "lognormal":
        ends = log(value.value), log(value.high), log(most)
    median, high, end = ends
    return (end - median) / (high - median) * Z_95 < MILLIONTH


def _people(recipe: Recipe) -> Iterator[Uncertainty]:
    correlation = recipe.scenario.wear.correlation
    for name in recipe.people:
        person, base = recipe.option.people[name], f"people/{name}"
        words = ("mass", "body stiffness", "force ratio")
        # a machine is a dead weight, whose load is all that a file says of it
        for word in words if name in recipe.scenario.people and name != MACHINE else words[:1]:
            leans = common_lean(word, correlation)
            yield _make(f"{base}/{word}", "body", getattr(person, attribute(word)), leans)


def _techniques(recipe: Recipe) -> Iterator[Uncertainty]:
    """Numbers of the techniques that the job uses; those somebody typed are as sure as typed."""
    in_use = _words(recipe)
    words = dict.fromkeys(p.technique for p in recipe.patterns if p.technique in in_use)
    for word in words:
        mine = [p for p in recipe.patterns if p.technique == word]
        for number in RISES:
            if any(recipe.from_library(pattern, number) for pattern in mine):
                value = getattr(recipe.scenario.techniques[word], attribute(number))
                yield _make(f"techniques/{word}/{number}", "technique", value)


def _words(recipe: Recipe) -> set[str]:
    """Techniques that people, steps and faults ask for."""
    scenario = recipe.scenario
    steps = [
        step
        for steps in scenario.job.values()
        for step in leaves(steps)
        if isinstance(step, Ascend)
    ]
    climbing = {step.technique or "" for step in steps}
    tired = {str(getattr(fault, "technique", "")) for fault in scenario.faults.values()}
    own = {recipe.option.people[name].technique.name for name in recipe.people}
    return own | climbing | tired if steps else set()


def _lasting(recipe: Recipe) -> Iterator[Uncertainty]:
    """How long work in place takes, where a step says it in a range.

    Other durations wear no rope. Of a repeat only its one work step: two cannot be told apart.
    """
    for name in recipe.people:
        for number, step in enumerate(recipe.scenario.job.get(name, ()), start=1):
            works = [s for s in leaves((step,)) if isinstance(s, Work)]
            if len(works) == 1 and not works[0].for_.is_exact:
                yield _make(f"job/{name}/{number}/for", "technique", works[0].for_)


def _working(recipe: Recipe) -> Iterator[Uncertainty]:
    """How people move at work in place."""
    for name, value in ways_that_vary(recipe.scenario, recipe.people).items():
        yield _make(name, "technique", value)


def _ropes(scenario: Scenario) -> Iterator[Uncertainty]:
    for name, rope in scenario.ropes.items():
        yield from _rope(f"ropes/{name}", rope, scenario.wear.correlation)


def _rope(base: str, rope: Rope, correlation: Correlation) -> Iterator[Uncertainty]:
    if follows_elongation(rope) and rope.elongation is not None:
        yield _make(f"{base}/elongation", "rope", rope.elongation)
    else:
        yield _make(f"{base}/stiffness", "rope", rope.stiffness)
    yield _make(f"{base}/dynamic ratio", "rope", rope.dynamic_ratio)
    yield _make(f"{base}/damping", "rope", rope.damping, common_lean("damping", correlation))
    for word in ("diameter", "sheath share", "strength", "termination"):
        yield _make(f"{base}/{word}", "rope", getattr(rope, attribute(word)))
    yield _make(f"{base}/sheath/toughness", "rope", rope.sheath.toughness)


def _rope_conditions(scenario: Scenario) -> Iterator[Uncertainty]:
    """What a rope has been through: nobody knows how much softer, weaker or rougher it is."""
    for name, rope in scenario.ropes.items():
        base = f"ropes/{name}"
        yield _make(f"{base}/stiffness factor", "rope", rope.stiffness_factor)
        yield _make(f"{base}/strength factor", "rope", rope.strength_factor)
        yield _make(f"{base}/friction factor", "friction", rope.friction_factor)


def _past_wear(scenario: Scenario, rigged: Rigged) -> Iterator[Uncertainty]:
    """How worn a rope is before the job: all its worn parts rise and fall together."""
    for name in dict.fromkeys(section.rope for section in rigged.sections):
        rope = scenario.ropes[name]
        if rope.worn:
            source = rope.record or rope.worn[0].sheath.pedigree or rope.worn[0].sheath.basis
            yield Uncertainty(
                f"ropes/{name}/past wear",
                "wear",
                "normal",
                0.0,
                -Z95,
                Z95,
                "1",
                "epistemic",
                source,
            )


LAW = (
    "core exponent", "reference pressure", "reference speed", "cold share", "width share",
    "arc share", "presliding", "bend strength", "core strength share", "core weakening",
)  # fmt: skip
"""Numbers of the wear law that are no part of the fit."""


def _wear(scenario: Scenario) -> Iterator[Uncertainty]:
    law, leans = scenario.wear, _leans(scenario)

    def number(word: str, group: str = "wear") -> Uncertainty:
        return _make(f"wear/{word}", group, getattr(law, attribute(word)), leans[word])

    yield number("sheath energy")
    yield number("contact share")
    yield number("rotation", "rope")
    yield number("core energy")
    for word in LAW:
        yield (
            number(word)
            if word in leans
            else _make(f"wear/{word}", "wear", getattr(law, attribute(word)))
        )
    yield _make("wear/discrepancy", "discrepancy", law.discrepancy)
    yield number("radius exponent")


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


def _edges(scenario: Scenario) -> Iterator[Uncertainty]:
    correlation = scenario.wear.correlation
    for name, edge in scenario.edges.items():
        base, steel = f"edges/{name}", edge.surface.name == "steel"
        common = common_lean("friction of steel", correlation) if steel else ()
        yield _make(f"{base}/friction", "friction", edge.friction, common)
        yield _make(f"{base}/radius", "survey", edge.radius)
        yield _make(f"{base}/roughness", "wear", edge.roughness)


def _weather(scenario: Scenario) -> Iterator[Uncertainty]:
    for state, factor in scenario.weather.items():
        yield _make(f"weather/{state}", "wear", factor)


def _protections(recipe: Recipe) -> Iterator[Uncertainty]:
    """Each piece of protection has numbers of its own, the same piece in every option."""
    seen: set[tuple[str, str]] = set()
    for row, edge, word in _covers(recipe):
        if (edge, word) in seen:
            continue
        seen.add((edge, word))
        section = recipe.rigged.sections[row]
        kind = cover_of(recipe.scenario, recipe.option, section, edge, word)
        base = f"protection/{edge}/{word}"
        for number in ("friction", "severity", "radius", "thickness"):
            yield _make(f"{base}/{number}", "protection", getattr(kind, number))


def _covers(recipe: Recipe) -> Iterator[tuple[int, str, str]]:
    """Row of the section, edge and kind of every piece of protection, in the scenario's order."""
    sections = recipe.rigged.sections
    for name in recipe.scenario.edges:
        for row, section in enumerate(sections):
            for edge in section.edges:
                if edge.kind == "edge" and edge.name == name and edge.protection is not None:
                    yield row, name, edge.protection
        for c in recipe.conditions:
            if sections[c.row].edges[c.edge].name == name and c.cover not in (None, BYPASS):
                yield c.row, name, str(c.cover)


def _bends(recipe: Recipe) -> Iterator[Uncertainty]:
    """Bends and lengths given directly; named by the edge, so that like options vary alike."""
    for section in recipe.rigged.sections:
        if section.direct:
            for passed in line_of(recipe.option, section).over:
                base = f"over/{section.person}/{section.role}/{passed.edge}"
                yield _make(f"{base}/after", "survey", passed.after)
                yield _make(f"{base}/bend", "survey", passed.bend)


def _edge_places(recipe: Recipe) -> Iterator[Uncertainty]:
    scenario, rigged, conditions = recipe.scenario, recipe.rigged, recipe.conditions
    for name, edge in scenario.edges.items():
        places = [
            (i, j)
            for i, section in enumerate(rigged.sections)
            for j, met in enumerate(section.edges)
            if met.kind == "edge" and met.name == name
        ]
        others = [
            k for k, c in enumerate(conditions) if rigged.sections[c.row].edges[c.edge].name == name
        ]
        yield from _edge_place(f"edges/{name}", edge, places, others)


def _edge_place(
    base: str, edge: Edge, places: list[tuple[int, int]], variants: list[int]
) -> Iterator[Uncertainty]:
    """Coordinates of an edge that runs along the face; both its ends move together."""
    for component, word in enumerate(PLACES):
        value = getattr(edge, word)
        if value is not None:
            ends = ("start_m", "end_m")
            shifts = [Shift("edges", p, field, component) for p in places for field in ends]
            if shifts:
                shifts += [
                    Shift("variants", (k,), field, component) for k in variants for field in ends
                ]
            yield _make(f"{base}/{word}", "survey", value, (), tuple(shifts))


def _anchors(scenario: Scenario, rigged: Rigged) -> Iterator[Uncertainty]:
    for name, anchor in scenario.anchors.items():
        rows = [i for i, s in enumerate(rigged.sections) if s.anchor == name and not s.direct]
        yield from _anchor(name, anchor, rows, rigged)


def _anchor(name: str, anchor: Anchor, rows: list[int], rigged: Rigged) -> Iterator[Uncertainty]:
    for component, word in enumerate(PLACES):
        value = getattr(anchor, word)
        if value is not None:
            shifts = [Shift("lines", (i,), "anchor_m", component) for i in rows]
            shifts += [
                Shift("edges", (i, j), field, component)
                for i, section in enumerate(rigged.sections)
                for j, item in enumerate(section.edges)
                if item.kind != "edge" and item.name == name
                for field in ("start_m", "end_m")
            ]
            yield _make(f"anchors/{name}/{word}", "survey", value, (), tuple(shifts))
