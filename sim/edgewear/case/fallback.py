"""The lines as they lie once a deviation or their first re-anchor gave way: held ready for that."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from math import isfinite
from typing import NamedTuple

from edgewear.rigging.model import Rigged, Section
from edgewear.rigging.sections import cut
from edgewear.scenario.models.scenario import Line, Option, Scenario


class Fallback(NamedTuple):
    """A section that takes the place of another when a deviation or a re-anchor gives way."""

    anchor: str  # of the deviation, or the re-anchor
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
    return replace(rigged, sections=sections, held_ready=len(found)), found


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
    for anchor in dict.fromkeys(_anchors_that_fail(scenario)):
        for row, section in enumerate(own):
            above = _above_first(scenario, option, own, section) if section.anchor == anchor else ()
            if above:
                found.append(Fallback(anchor, row, len(sections)))
                sections.append(above[0])
    for anchor in dict.fromkeys(failing):
        others = {_key(s): s for s in _cut(_without(scenario, option, anchor), option)}
        for row, section in enumerate(own):
            led = any(e.kind == "deviation" and e.name == anchor for e in section.edges)
            if led and _key(section) in others:
                found.append(Fallback(anchor, row, len(sections)))
                name = f"{section.line} without {anchor}"
                sections.append(replace(others[_key(section)], line=name))
    return tuple(sections), tuple(found)


def _anchors_that_fail(scenario: Scenario) -> list[str]:
    return [f.anchor for f in scenario.faults.values() if f.fault == "anchor fails"]


def _above_first(
    scenario: Scenario, option: str, own: Sequence[Section], section: Section
) -> Sequence[Section]:
    """The rope from the line's own anchor, where nobody ever hangs on it above a re-anchor."""
    mine = [s for s in own if (s.person, s.role) == (section.person, section.role)]
    if section is not mine[0] or not isfinite(section.top_m):
        return ()
    without = _without_re_anchor(scenario, option, section.anchor)
    return [
        s for s in _cut(without, option) if (s.person, s.role) == (section.person, section.role)
    ]


def _key(section: Section) -> tuple[str, str, str]:
    return section.person, section.role, section.anchor


def _without(scenario: Scenario, option: str, anchor: str) -> Scenario:
    return _with_lines(scenario, option, lambda line: _freed(line, anchor))


def _without_re_anchor(scenario: Scenario, option: str, anchor: str) -> Scenario:
    def straight(line: Line) -> Line:
        left = tuple(name for name in line.re_anchor if name != anchor)
        return line.model_copy(update={"re_anchor": left})

    return _with_lines(scenario, option, straight)


def _with_lines(scenario: Scenario, option: str, change: Callable[[Line], Line]) -> Scenario:
    chosen = scenario.options[option]
    lines = {
        who: both.model_copy(
            update={
                "working": change(both.working),
                "safety": None if both.safety is None else change(both.safety),
            }
        )
        for who, both in chosen.lines.items()
    }
    changed: Option = chosen.model_copy(update={"lines": lines})
    return scenario.model_copy(update={"options": {**scenario.options, option: changed}})


def _freed(line: Line, anchor: str) -> Line:
    left = tuple(d for d in line.deviations if d.anchor != anchor)
    return line.model_copy(update={"deviations": left})
