"""What was understood of scenarios: read, rigged, and said back before anything is simulated."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from edgewear.errors import Problem, ScenarioError

if TYPE_CHECKING:
    from edgewear.rigging import Rigged
    from edgewear.scenario import Scenario

SCHEMA = "edgewear.check/1"


@dataclass(frozen=True)
class Understood:
    """One scenario and its options as rigged."""

    file: Path
    scenario: Scenario
    rigged: tuple[Rigged, ...]

    @property
    def warnings(self) -> tuple[str, ...]:
        """What is no error and should be looked at, each once."""
        said = [*self.scenario.warnings]
        for option in self.rigged:
            said += [f"options/{option.option}: {warning}" for warning in option.warnings]
        return tuple(f"{self.file}: {text}" for text in dict.fromkeys(said))

    def as_json(self) -> dict[str, Any]:
        """Give the summary as part of the document that `check --json` prints."""
        from edgewear.scenario import summary_document

        return {
            "file": str(self.file),
            **{k: v for k, v in summary_document(self.scenario).items() if k != "schema"},
            "options": [_option_json(option) for option in self.rigged],
            "warnings": list(self.warnings),
        }

    def text(self) -> str:
        """Give the summary for people."""
        return "\n".join(_text(self))


def check(files: Sequence[Path]) -> tuple[Understood, ...]:
    """Read scenarios and rig their options; all problems of all files at once.

    Raises:
        ScenarioError: with everything found.
    """
    understood: list[Understood] = []
    problems: list[Problem] = []
    for file in files:
        try:
            understood.append(_understand(file))
        except ScenarioError as error:
            problems += error.problems
    if problems:
        raise ScenarioError(problems)
    return tuple(understood)


def document(understood: Sequence[Understood]) -> dict[str, Any]:
    """Give the document that `check --json` prints."""
    return {"schema": SCHEMA, "scenarios": [one.as_json() for one in understood]}


def _understand(file: Path) -> Understood:
    from edgewear.rigging import rig
    from edgewear.study.loading import load_riggable

    scenario = load_riggable(file)
    return Understood(file, scenario, tuple(rig(scenario, name) for name in scenario.options))


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


def _text(understood: Understood) -> Iterator[str]:
    from edgewear.scenario import summary

    yield f"{understood.file}"
    yield from summary(understood.scenario)
    yield "rigged, at each line's lowest work position"
    for option in understood.rigged:
        yield f"  {option.option}: " + "; ".join([option.control, *option.status])
        yield from (f"    {_line_text(line)}" for line in option.drawing["lines"])
        yield from (f"    {words}" for words in option.shared)


def _line_text(line: dict[str, Any]) -> str:
    """Say a line's course at its lowest work position: lengths between places, bends at them."""
    first, *rest = line["path"]
    course = "".join(f" - {p['after_m']:.2f} m - {_place(p)}" for p in rest)
    whose = f"{line['person']}, {line['name']}" if line["person"] else line["name"]
    return f"{whose} ({line['rope']}): {first['name']}{course}"


def _place(place: dict[str, Any]) -> str:
    bend = f" ({place['bend_deg']:.0f} deg)" if place["kind"] == "edge" else ""
    return f"{place['name']}{bend}"
