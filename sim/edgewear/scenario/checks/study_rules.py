"""Checks of a study: its addresses lead somewhere, and its values can be read there."""

from __future__ import annotations

from collections.abc import Sequence
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
        if not values:
            sections.report(("study", "grid", address), "has no values: at least one is due")
        if address == "options":
            for index, value in enumerate(values):
                _option(sections, value, options, ("study", "grid", address, index))
            _repeated(sections, address, values)
        else:
            _address(sections, address, ("study", "grid", address))
            _values(sections, address, values)
    if study.sample is not None:
        for index, over in enumerate(study.sample.over):
            if over not in GROUPS:
                _over(sections, over, ("study", "sample", "over", index))
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


def _over(sections: Sections, over: str, path: Path_) -> None:
    """Report what a sample is over and is neither a group nor an address."""
    hint = did_you_mean(over, list(GROUPS))
    if "/" in over or not (hint or matching(sections.data, over).problem):
        _address(sections, over, path)
        return
    allowed = f"; allowed are {', '.join(GROUPS)}, or an address such as edges/lip/friction"
    sections.report(path, f"{over!r} is no group of inputs{hint or allowed}")


def _values(sections: Sections, address: str, values: tuple[str, ...]) -> None:
    """Report values that cannot be typed at an address, or that are there twice."""
    match = matching(sections.data, address)
    kind = quantity_due(match.paths[0], sections.data) if match.paths else None
    read: Sequence[object] = values
    if kind is not None:
        place: Path_ = ("study", "grid", address)
        found = [sections.quantity(v, kind, (*place, i)) for i, v in enumerate(values)]
        read = [v if q is None else (q.value, q.low, q.high, q.distribution)
                for v, q in zip(values, found, strict=True)]  # fmt: skip
    _repeated(sections, address, values, read)


def _repeated(
    sections: Sections, address: str, values: tuple[str, ...], read: Sequence[object] = ()
) -> None:
    """Report a value that is there twice: each of its rows would be, and count double.

    Parameters: `read`: what each value means, where texts that differ may mean the same.
    """
    first: dict[object, str] = {}
    for index, (value, meant) in enumerate(zip(values, read or values, strict=True)):
        if meant in first:
            spelled = "" if first[meant] == value else f", as {first[meant]!r}"
            message = f"{value!r} is there already{spelled}: each value is due once"
            sections.report(("study", "grid", address, index), message)
            return
        first[meant] = value


def _skip(sections: Sections, row: dict[str, str], grid: dict[str, Any], path: Path_) -> None:
    for address, value in row.items():
        if address not in grid:
            hint = did_you_mean(address, list(grid))
            sections.report((*path, address), f"{address!r} is not in the grid{hint}")
        elif value not in grid[address]:
            listed = ", ".join(grid[address][:8])
            sections.report((*path, address), f"{value!r} is no value of the grid: {listed}")
