"""The lines as they lie after a deviation gave way: sections held ready for that fault."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

from edgewear.rigging.model import Rigged, Section
from edgewear.rigging.sections import cut
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
    sections, found = _extended(scenario, option, rigged.sections)
    return (replace(rigged, sections=sections), found) if found else (rigged, ())


def all_sections(scenario: Scenario, option: str) -> tuple[Section, ...]:
    """The sections of an option's lines, and those that faults take a deviation from."""
    return _extended(scenario, option, _cut(scenario, option))[0]


def _cut(scenario: Scenario, option: str) -> tuple[Section, ...]:
    chosen = scenario.options[option]
    return tuple(section for who in chosen.lines for section in cut(scenario, chosen, who)[0])


def _extended(
    scenario: Scenario, option: str, own: tuple[Section, ...]
) -> tuple[tuple[Section, ...], tuple[Fallback, ...]]:
    failing = [f.anchor for f in scenario.faults.values() if f.fault == "deviation fails"]
    sections, found = list(own), []
    for anchor in dict.fromkeys(failing):
        others = {_key(s): s for s in _cut(_without(scenario, option, anchor), option)}
        for row, section in enumerate(own):
            led = any(e.kind == "deviation" and e.name == anchor for e in section.edges)
            if led and _key(section) in others:
                found.append(Fallback(anchor, row, len(sections)))
                name = f"{section.line} without {anchor}"
                sections.append(replace(others[_key(section)], line=name))
    return tuple(sections), tuple(found)


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
