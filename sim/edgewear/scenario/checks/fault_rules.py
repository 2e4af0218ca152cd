"""Checks of the faults before they are run: one that can change nothing would read as harmless."""

from __future__ import annotations

from edgewear.scenario.checks.rigging_rules import lines_of
from edgewear.scenario.models.faults import Fault
from edgewear.scenario.models.scenario import Line, Scenario
from edgewear.scenario.models.steps import PlaceProtection
from edgewear.scenario.models.walking import walk
from edgewear.scenario.read.sections import Sections
from edgewear.scenario.text.tree import Path_

COVERS = {"rope off the roller": "roller", "sleeve on the wrong side": "sleeve"}
"""Fault -> the kind of protection it happens to."""

BARED = (*COVERS, "protection displaced", "protection worn through", "protection not refitted")


def check_faults(sections: Sections, scenario: Scenario) -> None:
    """Report faults that no option makes possible, and steps that their person does not have."""
    lines = [line for option in scenario.options.values() for _, line in lines_of(option)]
    for name, fault in scenario.faults.items():
        path: Path_ = ("faults", name)
        if message := _message(scenario, lines, fault):
            sections.report((*path, fault.fault), message)
        person = getattr(fault, "person", None)
        count = len(scenario.job.get(person, ())) if person is not None else None
        if fault.step is not None and count is not None and fault.step > count:
            sections.report((*path, "step"), f"{person!r} has only {count} steps")


def _message(scenario: Scenario, lines: list[Line], fault: Fault) -> str:
    if fault.fault in BARED:
        return _unprotected(scenario, lines, fault)
    held = {a for line in lines for a in (line.anchor, *line.re_anchor)}
    led = {d.anchor for line in lines for d in line.deviations}
    if fault.fault == "anchor fails" and fault.anchor not in held:
        return f"no line of any option hangs on {fault.anchor!r}"
    if fault.fault == "deviation fails" and fault.anchor not in led:
        return f"no option has a deviation at {fault.anchor!r}"
    return ""


def _unprotected(scenario: Scenario, lines: list[Line], fault: Fault) -> str:
    """Say that nothing of the kind ever lies on an edge; empty where it does."""
    edge, kind = getattr(fault, "edge", ""), COVERS.get(fault.fault)
    kinds = {line.protect[edge].is_ for line in lines if edge in line.protect}
    for steps in scenario.job.values():
        for _, step in walk(steps):
            if isinstance(step, PlaceProtection) and step.edge == edge and step.with_:
                kinds.add(step.with_)
    if kind is not None and kind not in kinds:
        return f"no option has a {kind} at {edge!r}"
    return "" if kinds else f"no option has protection at {edge!r}"
