"""Faults of the rigging itself: there before anybody starts, so the option is rigged with them."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from edgewear.job.faults import FROM_THE_START, Injected
from edgewear.scenario.models import faults as typed
from edgewear.scenario.models.gear import Edge
from edgewear.scenario.models.scenario import Line, Option, Pass, PersonLines, Scenario
from edgewear.scenario.text.quantities import Measured

UNKNOWN = "unknown edge"
"""Name that an edge nobody surveyed gets."""

UNKNOWN_BELOW_M, UNKNOWN_OUT_M, UNKNOWN_BEND_RAD = 1.0, 0.05, 0.17
"""Where it lies: below the edge named, this far out of the rope's way; where bends are given, how
far it turns the rope (10 degrees). Assumed."""


def prepared(scenario: Scenario, option: str, faults: Iterable[Injected]) -> Scenario:
    """The scenario with the faults of its rigging in place."""
    found = scenario
    for one in faults:
        if isinstance(one.fault, FROM_THE_START):
            found = _CHANGES[type(one.fault)](found, option, one.fault)
    return found


def _wrong_rope(scenario: Scenario, option: str, fault: typed.WrongRope) -> Scenario:
    def change(line: Line) -> Line:
        return line.model_copy(update={"rope": fault.rope})

    return _working_lines(scenario, option, fault.person, change)


def _stopper_missing(scenario: Scenario, option: str, fault: typed.StopperMissing) -> Scenario:
    rope = scenario.options[option].lines[fault.person].working.rope
    without = scenario.ropes[rope].model_copy(update={"stopper": False})
    name = f"{rope} without stopper"
    more = scenario.model_copy(update={"ropes": {**scenario.ropes, name: without}})

    def change(line: Line) -> Line:
        return line.model_copy(update={"rope": name})

    return _working_lines(more, option, fault.person, change)


def _unknown_edge(scenario: Scenario, option: str, fault: typed.UnknownEdge) -> Scenario:
    kind, above = scenario.edge_classes[fault.is_], fault.below or _last(scenario)
    edge = _beside(scenario, kind, scenario.edges[above])
    more = scenario.model_copy(update={"edges": {**scenario.edges, UNKNOWN: edge}})

    def change(line: Line) -> Line:
        if not line.over:
            return line
        bend = Measured.exact(UNKNOWN_BEND_RAD, "rad")
        after = Measured.exact(UNKNOWN_BELOW_M, "m")
        passed = Pass(edge=UNKNOWN, after=after, bend=bend)
        return line.model_copy(update={"over": (*line.over, passed)})

    return _working_lines(more, option, None, change)


def _beside(scenario: Scenario, kind: Edge, above: Edge) -> Edge:
    """An edge of a class below another one, a little out of the straight way to the next one."""
    if above.out is None or above.up is None:
        return kind
    up_m = above.up.value - UNKNOWN_BELOW_M
    out_m = above.out.value + _slope(scenario, above) * UNKNOWN_BELOW_M + UNKNOWN_OUT_M
    place = {
        "out": Measured.exact(out_m, "m"),
        "up": Measured.exact(up_m, "m"),
        "along": above.along,
        "length": above.length,
    }
    return kind.model_copy(update=place)


def _slope(scenario: Scenario, above: Edge) -> float:
    """How far the straight way from an edge to the next lower one leads out, a metre down [1]."""
    found = [
        (above.up.value - e.up.value, e.out.value - above.out.value)
        for e in scenario.edges.values()
        if e.up is not None and e.out is not None and above.up and above.out
        and e.up.value < above.up.value
    ]  # fmt: skip
    down_m, out_m = min(found, default=(1.0, 0.0))
    return max(out_m / down_m, 0.0)


def _last(scenario: Scenario) -> str:
    """The lowest edge; the last one named where none has a place."""
    placed = {n: e.up.value for n, e in scenario.edges.items() if e.up is not None}
    return min(placed, key=lambda n: placed[n]) if placed else list(scenario.edges)[-1]


def _working_lines(
    scenario: Scenario, option: str, person: str | None, change: Callable[[Line], Line]
) -> Scenario:
    chosen: Option = scenario.options[option]
    lines: dict[str, PersonLines] = {
        who: both.model_copy(update={"working": change(both.working)})
        if person in (None, who)
        else both
        for who, both in chosen.lines.items()
    }
    changed = chosen.model_copy(update={"lines": lines})
    return scenario.model_copy(update={"options": {**scenario.options, option: changed}})


_CHANGES: dict[type, Callable[[Scenario, str, Any], Scenario]] = {
    typed.WrongRope: _wrong_rope,
    typed.StopperMissing: _stopper_missing,
    typed.UnknownEdge: _unknown_edge,
}
