"""The lines as they lie after a deviation gave way: sections held ready for that fault."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

from edgewear.rigging import rig
from edgewear.rigging.model import Rigged, Section
from edgewear.scenario.models.scenario import Line, Option, Scenario


class Fallback(NamedTuple):
    """A section that takes the place of another when a deviation gives way."""

    anchor: str  # of the deviation
    row: int
    instead: int  # row of the section without it


def with_fallbacks(
    scenario: Scenario, option: str, rigged: Rigged
) -> tuple[Rigged, tuple[Fallback, ...]]:
    """The option as rigged, with a section more for each one that a fault takes a deviation from.

    The rope over a fallen deviation meets other edges at other places: its wear is counted from
    there on, beside what it had before.
    """
    failing = [f.anchor for f in scenario.faults.values() if f.fault == "deviation fails"]
    sections, found = list(rigged.sections), []
    for anchor in dict.fromkeys(failing):
        bare = _without(scenario, option, anchor)
        others = {_key(s): s for s in rig(bare, option).sections}
        for row, section in enumerate(rigged.sections):
            led = any(e.kind == "deviation" and e.name == anchor for e in section.edges)
            if led and _key(section) in others:
                found.append(Fallback(anchor, row, len(sections)))
                name = f"{section.line} without {anchor}"
                sections.append(replace(others[_key(section)], line=name))
    return (replace(rigged, sections=tuple(sections)), tuple(found)) if found else (rigged, ())


def _key(section: Section) -> tuple[str, str, str]:
    return section.person, section.role, section.anchor


def _without(scenario: Scenario, option: str, anchor: str) -> Scenario:
    chosen = scenario.options[option]
    lines = {
        who: both.model_copy(
            update={
                "working": _freed(both.working, anchor),
                "safety": None if both.safety is None else _freed(both.safety, anchor),
            }
        )
        for who, both in chosen.lines.items()
    }
    changed: Option = chosen.model_copy(update={"lines": lines})
    return scenario.model_copy(update={"options": {**scenario.options, option: changed}})


def _freed(line: Line, anchor: str) -> Line:
    left = tuple(d for d in line.deviations if d.anchor != anchor)
    return line.model_copy(update={"deviations": left})
