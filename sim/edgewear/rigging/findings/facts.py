"""All that rigging has to say of an option, as plain JSON: kept with a study for its report."""

from __future__ import annotations

from math import degrees, isfinite
from typing import Any

from edgewear.geometry.loads import G_M_S2, Load, fixing_loads_n
from edgewear.rigging.contacts import LOADED_BEND_RAD
from edgewear.rigging.findings import figures
from edgewear.rigging.findings.control import cover_words, line_of
from edgewear.rigging.findings.independence import independence_words
from edgewear.rigging.findings.survey_meanings import words
from edgewear.rigging.findings.transfers import catches, transfer_warnings, transfers, work_depth
from edgewear.rigging.lengths import BODY_M, LOOP_M, TIED_M, rope_need
from edgewear.rigging.model import Rigged
from edgewear.rigging.profile import BELOW_CROSSED_EDGE_M, HIGHEST_BELOW_EDGE_M
from edgewear.rigging.rig import Layout, rig
from edgewear.rigging.sections import PASSED_BELOW_M
from edgewear.rigging.survey import STAND_OFF
from edgewear.scenario.models.scenario import Option, Scenario


def facts(scenario: Scenario, option_name: str) -> dict[str, Any]:
    """Return everything that a report says of an option's rigging, JSON-able.

    Parameters: `option_name`: a key of the scenario's options.

    Raises: UsageError for a name the scenario does not have.
    """
    rigged = rig(scenario, option_name)
    option = scenario.options[option_name]
    people = list(option.lines)
    laid = Layout(scenario, option, people)
    shared = [s for who in people for s in laid.shared(who)]
    found = transfers(scenario, option, laid)
    count = max(1 + (pair.safety is not None) for pair in option.lines.values())
    return {
        "option": option_name,
        "control": rigged.control,
        "why_not_higher": dict(rigged.why_not_higher),
        "status": list(rigged.status),
        "edge_levels": dict(rigged.edge_levels),
        "start_depth_m": rigged.start_depth_m,
        "starts_m": dict(rigged.starts_m),
        "shared": list(rigged.shared),
        "independence": independence_words(shared, count),
        "warnings": [*rigged.warnings, *transfer_warnings(found)],
        "mind": [*laid.bare_words, *catches(found)],  # stands beside the status everywhere
        "drawing": rigged.drawing,
        "sections": _sections(scenario, option, laid, rigged),
        "loads": _loads(scenario, option, laid, found),
        "transfers": found,
        "ropes": _ropes(scenario, option, laid),
        "words": words(scenario),
        "assumed": assumed(),
    }


def assumed() -> list[dict[str, Any]]:
    """Return what rigging takes for granted, with its range [m]."""
    rows = [
        ("stand-off of the body beyond the outermost edge", STAND_OFF.value, 0.2, 0.5),
        ("depth at which a re-anchor is passed, below it", PASSED_BELOW_M, 0.3, 1.0),
        ("start below an edge just crossed", BELOW_CROSSED_EDGE_M, 1.0, 2.0),
        ("highest point below the last edge", HIGHEST_BELOW_EDGE_M, 2.0, 4.0),
        ("slack in an unloaded safety line", figures.SLACK_M, 0.0, 0.5),
        ("rope in knots and below the lowest device", TIED_M, 1.0, 2.0),
        ("slack loop at a re-anchor", LOOP_M, 0.5, 1.5),
        ("harness to feet", BODY_M, 1.0, 1.4),
    ]
    return [
        {"what": what, "value_m": value, "low_m": low, "high_m": high, "pedigree": "assumed"}
        for what, value, low, high in rows
    ]


def _sections(
    scenario: Scenario, option: Option, laid: Layout, rigged: Rigged
) -> list[dict[str, Any]]:
    found = []
    for number, section in enumerate(laid.covered):
        depth = work_depth(laid, section)
        hung = figures.hang(scenario, option, section, depth)
        sliding, stuck = figures.bounce_hz(scenario, option, hung)
        found.append(
            {
                "line": section.line,
                "role": section.role,
                "person": section.person,
                "rope": section.rope,
                "anchor": section.anchor,
                "from_m": section.top_m if isfinite(section.top_m) else None,
                "to_m": section.bottom_m if isfinite(section.bottom_m) else None,
                "work_depth_m": depth,
                "load_n": hung.load_n,
                "free_m": list(hung.laid.free_m),
                "stretch_m": figures.hang_stretch_m(scenario, hung),
                "frequency_sliding_hz": _finite(sliding),
                "frequency_stuck_hz": _finite(stuck),
                "haul_at_top_n": figures.haul_at_top_n(hung),
                "edges": [_edge(laid, rigged, number, hung, k) for k in range(len(hung.ratios))],
                "covers": {
                    e.name: cover_words(scenario, option, section, e.name)
                    for e in section.edges
                    if e.kind == "edge"
                },
            }
        )
    return found


def _edge(
    laid: Layout, rigged: Rigged, number: int, hung: figures.Hung, touched: int
) -> dict[str, Any]:
    section = laid.covered[number]
    item = section.edges[hung.laid.edges[touched]]
    bend = hung.laid.bends_rad[touched]
    contact = next(c for c in laid.contacts if c.section == number and c.edge == item.name)
    return {
        "name": item.name,
        "kind": item.kind,
        "protection": item.protection,
        "level": rigged.edge_levels.get(item.name) if section.role == "working line" else None,
        "setback_m": hung.laid.setback_m(touched),
        "below_m": sum(hung.laid.free_m[touched + 1 :]),
        "bend_deg": degrees(bend),
        "loaded": bend > LOADED_BEND_RAD,
        "tension_ratio": hung.ratios[touched],
        "tension_n": hung.tensions_n[touched + 1],
        "load": _load(hung.at(touched)),
        "sideways_m": contact.aside_m,
    }


def _load(load: Load | None) -> dict[str, Any] | None:
    if load is None:
        return None
    return {"size_n": load.size_n, "direction": list(load.direction)}


def _finite(value: float) -> float | None:
    return value if isfinite(value) else None


def _loads(
    scenario: Scenario, option: Option, laid: Layout, transfers: list[dict[str, Any]]
) -> list[dict[str, Any]]:
    """Return the load on each fixed and led point in work, in a rescue and in a catch.

    In work: the largest push of the legs. Rescue: a second person's weight hangs on the line, or
    the weight of those that the plan lets the person take over if that is more. Friction at the
    edges is left out, the careful end; a run gives the peaks with it.
    """
    found = []
    for section in laid.covered:
        depth = work_depth(laid, section)
        weight = figures.weight_n(scenario, option, section.person)
        who = option.people.get(section.person)
        second = figures.RESCUE_KG * G_M_S2 if who is not None else 0.0
        mine = [row for row in transfers if row["line"] == section.line]
        carried = [row["mass_kg"] * G_M_S2 for row in mine]
        cases = {"rescue": max([weight + second, *carried])}
        if section.role == "working line" or option.both_lines_loaded:
            cases["in work"] = weight * (who.force_ratio.value if who is not None else 1.0)
        if mine:
            cases["catch"] = max(row["peak_n"] for row in mine)
        for case, load_n in cases.items():
            hung = figures.hang(scenario, option, section, depth, load_n, slippery=True)
            found += _points(scenario, option, hung, case)
    return found


def _points(
    scenario: Scenario, option: Option, hung: figures.Hung, case: str
) -> list[dict[str, Any]]:
    section = hung.section
    anchor = scenario.anchors.get(section.anchor)
    at_anchor = hung.anchor()
    size = hung.tensions_n[0]
    kind = anchor.kind if anchor is not None else "single"
    rows = [
        {
            "name": section.anchor,
            "use": "re-anchor" if isfinite(section.top_m) else "anchor",
            "line": section.line,
            "case": case,
            "peak_n": size,
            "direction": list(at_anchor.direction) if at_anchor else None,
            "kind": kind,
            "each_fixing_n": list(fixing_loads_n(kind, size)),
            "strength_n": anchor.strength.value if anchor is not None else None,
        }
    ]
    strengths = {d.anchor: d.strength.value for d in line_of(option, section).deviations}
    for touched, k in enumerate(hung.laid.edges):
        item = section.edges[k]
        if item.kind == "edge":
            continue
        load = hung.at(touched)
        fixed = scenario.anchors[item.name]
        rows.append(
            {
                "name": item.name,
                "use": item.kind,
                "line": section.line,
                "case": case,
                "peak_n": load.size_n,
                "direction": list(load.direction),
                "kind": fixed.kind,
                "each_fixing_n": list(fixing_loads_n(fixed.kind, load.size_n)),
                "strength_n": min(
                    fixed.strength.value, strengths.get(item.name, fixed.strength.value)
                ),
            }
        )
    return rows


def _ropes(scenario: Scenario, option: Option, laid: Layout) -> list[dict[str, Any]]:
    found = []
    for who, pair in option.lines.items():
        for line in (pair.working, pair.safety):
            if line is None:
                continue
            need = rope_need(scenario, option, who, line, laid.profiles[who])
            found.append(
                {
                    "line": need.line,
                    "rope": need.rope,
                    "available_m": need.available_m,
                    "needed_m": need.needed_m,
                    "tail_m": need.tail_m,
                    "stopper": need.stopper,
                }
            )
    return found
