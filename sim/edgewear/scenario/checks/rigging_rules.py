"""What an option must say before it can be rigged: a path, a stopper, anchors that fit."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from edgewear.scenario.checks.names import all_steps
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
            _check_knots(sections, scenario, line, person, path)
            if line.role == "working line":
                _check_stopper(sections, scenario, line, person)
        _check_single(sections, scenario, option, path)
    _check_worn(sections, scenario)
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
    """Refuse a shift of the rope at an anchor that cannot be released, and of a safety line."""
    if line.shift is not None and line.role == "safety line":
        sections.report(path, "`shift` at a safety line: only a working line is shifted")
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


def _check_knots(
    sections: Sections, scenario: Scenario, line: Line, person: str, path: Path_
) -> None:
    """Knots lie on the rope, below one fixed point; slack is tied into a safety line."""
    rope = scenario.ropes.get(line.rope)
    own = f"the {line.role} of {person!r}"
    if line.knots and line.re_anchor:
        message = f"{own} has knots and re-anchors: knots below a re-anchor are not computed"
        sections.report(path, message)
    for knot in line.knots:
        most_m = inf if rope is None else rope.length.value - line.tail.value
        if knot.value >= most_m:
            message = f"{own} has a knot at {knot.typed}, beyond its {most_m:g} m of rope"
            sections.report(path, message)
    if line.slack is not None and line.role == "working line":
        message = f"`slack` of {own}: somebody hangs on it; slack is tied into a safety line"
        sections.report(path, message)


def _check_single(sections: Sections, scenario: Scenario, option: Option, path: Path_) -> None:
    """A tail is shorter than its rope; a rope with a past is one piece, for one line."""
    used: set[str] = set()
    for person, line in lines_of(option):
        rope = scenario.ropes.get(line.rope)
        if rope is not None and line.tail.value >= rope.length.value:
            message = f"a tail of {line.tail.typed} leaves nothing of {rope.length.typed} of rope"
            sections.report(path, message)
        if rope is None or not (rope.worn or rope.record):
            continue
        if line.rope in used:
            message = (
                f"{line.rope!r} is one rope with a past, and another line of this option is made "
                f"of it already: give {person!r} a rope of their own for the {line.role}"
            )
            sections.report(path, message)
        used.add(line.rope)


def _check_worn(sections: Sections, scenario: Scenario) -> None:
    """Worn parts lie on the rope; a rope with a past is in its line from the start."""
    for name, rope in scenario.ropes.items():
        for index, part in enumerate(rope.worn):
            if not part.from_.value < part.to.value <= rope.length.value + 0.01:
                message = (
                    f"from {part.from_.value:g} m to {part.to.value:g} m is no part of a rope of "
                    f"{rope.length.value:g} m"
                )
                sections.report(("ropes", name, "worn", index), message)
    for _, path, step in all_steps(scenario, as_list=isinstance(sections.data.get("job"), list)):
        brought = scenario.ropes.get(getattr(step, "rope", None) or "")
        if brought is not None and (brought.worn or brought.record):
            sections.report((*path, "rope"), "a rope with a past cannot be brought in on the way")
