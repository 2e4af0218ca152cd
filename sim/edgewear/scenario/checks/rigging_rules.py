"""What an option must say before it can be rigged: a path, a stopper, anchors that fit."""

from __future__ import annotations

from collections.abc import Iterator

from edgewear.scenario.models.scenario import Line, Option, Scenario
from edgewear.scenario.read.sections import Sections
from edgewear.scenario.text.tree import Path_


def check_rigging(sections: Sections, scenario: Scenario) -> None:
    """Report options that cannot be rigged as they stand."""
    for name, option in scenario.options.items():
        path: Path_ = ("options", name)
        for person, line in lines_of(option):
            _check_path(sections, scenario, line, path)
            _check_releasable(sections, scenario, line, path)
            if line.role == "working line":
                _check_stopper(sections, scenario, line, person)
    for edge, built in scenario.edges.items():
        if (built.from_ is None) != (built.to is None):
            sections.report(("edges", edge), "`from` and `to` belong together")
        if (built.out is None) != (built.up is None):
            sections.report(("edges", edge), "`out` and `up` belong together")
    for anchor, fixed in scenario.anchors.items():
        if (fixed.out is None) != (fixed.up is None):
            sections.report(("anchors", anchor), "`out` and `up` belong together")


def lines_of(option: Option) -> Iterator[tuple[str, Line]]:
    """Go through all lines of an option with the person each belongs to."""
    for person, lines in option.lines.items():
        yield person, lines.working
        if lines.safety is not None:
            yield person, lines.safety


def _check_path(sections: Sections, scenario: Scenario, line: Line, path: Path_) -> None:
    """Ask for the bends, or for an anchor with coordinates."""
    if line.over:
        if line.re_anchor or line.deviations or line.high_directional:
            message = f"the {line.role} has its bends given: further anchors need coordinates"
            sections.report(path, message)
        return
    if line.anchor is None:
        sections.report(path, f"the {line.role} needs an anchor, or its bends under `over`")
        return
    named = [line.anchor, *line.re_anchor, *(d.anchor for d in line.deviations)]
    named += [line.high_directional] if line.high_directional else []
    for name in named:
        anchor = scenario.anchors.get(name)
        if anchor is not None and anchor.out is None:
            message = "coordinates (out, up) are due: an option starts a line from here"
            sections.report(("anchors", name), message)
    for edge in [*line.protect, *line.bypass]:
        built = scenario.edges.get(edge)
        if built is not None and built.start_m is None:
            message = "coordinates (out, up) are due: an option's path follows from them"
            sections.report(("edges", edge), message)


def _check_releasable(sections: Sections, scenario: Scenario, line: Line, path: Path_) -> None:
    """Refuse a shift of the rope at an anchor that cannot be released."""
    if line.shift is None or line.anchor is None:
        return
    anchor = scenario.anchors.get(line.anchor)
    if anchor is not None and not anchor.releasable:
        message = f"the rope cannot be shifted: anchor {line.anchor!r} is not releasable"
        sections.report(path, message)


def _check_stopper(sections: Sections, scenario: Scenario, line: Line, person: str) -> None:
    """Ask for a stopper at the end of every working line of an industrial job."""
    rope = scenario.ropes.get(line.rope)
    if rope is None or sections.setting != "industrial" or rope.stopper:
        return
    message = f"no stopper: the working line of {person!r} needs one in an industrial job"
    where: Path_ = ("ropes", line.rope)
    if rope.stopper is False:
        where = (*where, "stopper")
    sections.report(where, f"{message}, add `stopper: yes`")
