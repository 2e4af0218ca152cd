"""What was understood of scenarios: read, rigged, and said back before anything is simulated."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from edgewear import spelt, terms
from edgewear.errors import Problem, ScenarioError

if TYPE_CHECKING:
    from edgewear.rigging import Rigged
    from edgewear.scenario import Scenario
    from edgewear.scenario.models.scenario import Line

SCHEMA = "edgewear.check/1"

RIGGED = "rigged, at each line's lowest work position"


@dataclass(frozen=True)
class Understood:
    """One scenario and its options as rigged."""

    file: Path
    scenario: Scenario
    rigged: tuple[Rigged, ...]
    changes: tuple[str, ...] = ()  # what was set beside the file, as typed

    @property
    def warnings(self) -> tuple[str, ...]:
        """What is no error and should be looked at, each once an option."""
        said = [*self._set, *self.scenario.warnings]
        for option in self.rigged:
            said += [f"options/{option.option}: {warning}" for warning in option.warnings]
        return tuple(f"{self.file}: {text}" for text in dict.fromkeys(said))

    @property
    def look_at(self) -> tuple[str, ...]:
        """The same, each once, with the options that it holds for where not for all."""
        found = _each_once(self.rigged, lambda o: o.warnings)
        return (*self._set, *self.scenario.warnings, *found)

    @property
    def _set(self) -> list[str]:
        return [f"set beside the file: {change}" for change in self.changes]

    def as_json(self) -> dict[str, Any]:
        """Give the summary as part of the document that `check --json` prints."""
        from edgewear.scenario import summary_document

        return {
            "file": str(self.file),
            **{k: v for k, v in summary_document(self.scenario).items() if k != "schema"},
            "options": [_option_json(option) for option in self.rigged],
            "warnings": list(self.warnings),
        }

    def lines(self, details: bool = False) -> tuple[str, ...]:
        """Give the summary for people, blanks at the beginning of a line its indent.

        Parameters:
            details: every range, each step on its own line, each option as it was typed.
        """
        return tuple(_all_of_it(self) if details else _on_a_screen(self))


def check(files: Sequence[Path], changes: Sequence[str] = ()) -> tuple[Understood, ...]:
    """Read scenarios and rig their options; all problems of all files at once.

    Parameters:
        files: of scenarios.
        changes: what is set beside each file, `ADDRESS=VALUE`.

    Raises:
        ScenarioError: with everything found.
    """
    understood: list[Understood] = []
    problems: list[Problem] = []
    for file in files:
        try:
            understood.append(_understand(file, changes))
        except ScenarioError as error:
            problems += error.problems
    if problems:
        raise ScenarioError(problems)
    return tuple(understood)


def document(understood: Sequence[Understood]) -> dict[str, Any]:
    """Give the document that `check --json` prints."""
    return {"schema": SCHEMA, "scenarios": [one.as_json() for one in understood]}


def _understand(file: Path, changes: Sequence[str]) -> Understood:
    from edgewear.rigging import rig
    from edgewear.rigging.findings.remarks import stand_offs, under_re_anchors
    from edgewear.study.loading import load_changed

    scenario = load_changed(file, changes)
    rigged = []
    for name, option in scenario.options.items():
        found = rig(scenario, name)
        assumed = *stand_offs(scenario, option), *under_re_anchors(scenario, option)
        said = (*found.warnings, *(one.words for one in assumed))
        rigged.append(replace(found, warnings=said))
    return Understood(file, scenario, tuple(rigged), tuple(changes))


def _option_json(option: Rigged) -> dict[str, Any]:
    return {
        "name": option.option,
        "control": option.control,
        "why_not_higher": dict(option.why_not_higher),
        "status": list(option.status),
        "shared": list(option.shared),
        "edge_levels": dict(option.edge_levels),
        "lines": option.drawing["lines"],
    }


def _all_of_it(understood: Understood) -> Iterator[str]:
    from edgewear.scenario import summary

    yield f"{understood.file}"
    yield from summary(understood.scenario)
    yield RIGGED
    for option in understood.rigged:
        yield f"  {option.option}: " + "; ".join([option.control, *option.status])
        lines = option.drawing["lines"]
        yield from (f"    {_whose(line)}: {_course(understood, option, line)}" for line in lines)
        yield from (f"    {words}" for words in option.shared)


def _on_a_screen(understood: Understood) -> Iterator[str]:
    """Give the summary with everything once: a line rigged alike in two options too."""
    from edgewear.scenario.summaries import brief

    yield f"{understood.file}"
    yield from brief(understood.scenario)
    yield RIGGED
    told: dict[tuple[str, str], str] = {}
    for option in understood.rigged:
        yield f"  {option.option}: " + "; ".join([option.control, *option.status])
        for line in option.drawing["lines"]:
            whose = f"{line['name']} ({line['rope']})"
            course = _course(understood, option, line)
            first = told.setdefault((whose, course), option.option)
            yield f"    {whose}: " + (course if first == option.option else f'as in "{first}"')
        if terms.NOT_INDEPENDENT in option.status:
            yield from (f"    {words}" for words in option.shared)


def _each_once(rigged: Sequence[Rigged], of: Callable[[Rigged], Sequence[str]]) -> Iterator[str]:
    found: dict[str, list[str]] = {}
    for option in rigged:
        for text in dict.fromkeys(of(option)):
            found.setdefault(text, []).append(option.option)
    for text, names in found.items():
        everywhere = len(names) == len(rigged)
        yield text if everywhere else f"{text} [{'; '.join(names)}]"


def _whose(line: dict[str, Any]) -> str:
    whose = f"{line['person']}, {line['name']}" if line["person"] else line["name"]
    return f"{whose} ({line['rope']})"


def _course(understood: Understood, option: Rigged, line: dict[str, Any]) -> str:
    """Say a line's course at its lowest work position: lengths between places, bends at them."""
    pair = understood.scenario.options[option.option].lines[line["person"]]
    own = pair.safety if line["role"] == terms.SAFETY else pair.working
    first, *rest = line["path"]
    course = "".join(f" - {spelt.tenths(p['after_m'])} - {_place(p, own)}" for p in rest)
    return f"{first['name']}{course}{_shifted(own)}"


def _shifted(line: Line | None) -> str:
    """Say how often rope is let through at the fixed point that somebody hangs on."""
    if line is None or line.shift is None:
        return ""
    from edgewear.scenario.text.spelling import meant

    return f", shifted {meant(line.shift.by)} every {line.shift.every} strokes"


def _place(place: dict[str, Any], line: Line | None) -> str:
    if place["kind"] != "edge":
        return str(place["name"])
    sling = line.bypass.get(place["name"]) if line is not None else None
    over = place["protection"] or (sling.is_ if sling is not None else "bare")
    return f"{place['name']} {spelt.degrees(place['bend_deg'], 'deg')} ({over})"
