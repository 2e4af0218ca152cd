"""Checks of a study: its addresses lead somewhere, and its values can be read there."""

from __future__ import annotations

from typing import Any

from edgewear.scenario.models.scenario import Scenario
from edgewear.scenario.read.addresses import matching, quantity_due
from edgewear.scenario.read.sections import Sections
from edgewear.scenario.text.choices import did_you_mean
from edgewear.scenario.text.tree import Path_

GROUPS = ("friction", "wear", "body", "rope", "survey", "technique", "protection")
"""Groups of uncertain inputs that a sample may be over."""


def check_study(sections: Sections, scenario: Scenario) -> None:
    """Report what a study names and the scenario does not have."""
    study = scenario.study
    if study is None:
        return
    options = list(sections.named("options"))
    for address, values in study.grid.items():
        if address == "options":
            for index, value in enumerate(values):
                _option(sections, value, options, ("study", "grid", address, index))
        else:
            _address(sections, address, ("study", "grid", address))
            _values(sections, address, values)
    if study.sample is not None:
        for index, over in enumerate(study.sample.over):
            if over not in GROUPS:
                _address(sections, over, ("study", "sample", "over", index))
    for index, row in enumerate(study.skip):
        _skip(sections, row, study.grid, ("study", "skip", index))


def _option(sections: Sections, value: str, options: list[str], path: Path_) -> None:
    if value not in options:
        hint = did_you_mean(value, options)
        sections.report(path, f"{value!r} is not defined under options{hint}")


def _address(sections: Sections, address: str, path: Path_) -> None:
    """Report an address that leads nowhere."""
    problem = matching(sections.data, address).problem
    if problem:
        sections.report(path, f"address {address!r}: {problem}")


def _values(sections: Sections, address: str, values: tuple[str, ...]) -> None:
    """Report values that cannot be typed at an address."""
    match = matching(sections.data, address)
    kind = quantity_due(match.paths[0], sections.data) if match.paths else None
    for index, value in enumerate(values if kind is not None else ()):
        if kind is not None:
            sections.quantity(value, kind, ("study", "grid", address, index))


def _skip(sections: Sections, row: dict[str, str], grid: dict[str, Any], path: Path_) -> None:
    for address, value in row.items():
        if address not in grid:
            hint = did_you_mean(address, list(grid))
            sections.report((*path, address), f"{address!r} is not in the grid{hint}")
        elif value not in grid[address]:
            listed = ", ".join(grid[address][:8])
            sections.report((*path, address), f"{value!r} is no value of the grid: {listed}")
