"""A scenario that can be rigged: read from its file, and held against its own geometry."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from edgewear.errors import ScenarioError, UsageError

if TYPE_CHECKING:
    from edgewear.scenario import Scenario


def load_riggable(path: str | Path) -> Scenario:
    """Read a scenario file and look for what only its geometry rules out.

    Raises:
        ScenarioError: with every problem found, each at its line and column.
    """
    from edgewear.rigging import problems
    from edgewear.scenario import load_scenario
    from edgewear.scenario.read.reading import problems_at

    scenario = load_scenario(path)
    if found := problems(scenario):
        raise ScenarioError(problems_at(scenario, found))
    return scenario


def load_changed(path: str | Path, changes: Sequence[str]) -> Scenario:
    """Read a scenario file with some inputs set otherwise, as `--set ADDRESS=VALUE` says.

    Parameters:
        path: of the file.
        changes: each `ADDRESS=VALUE`, the value as it would be typed in the file.

    Raises:
        ScenarioError: the file, an address or the result cannot be used.
        UsageError: a change that is no ADDRESS=VALUE, or an address set twice.
    """
    from edgewear.rigging import problems
    from edgewear.scenario.read.reading import problems_at

    scenario = load_riggable(path)
    if not changes:
        return scenario
    changed = scenario.with_values(_values(changes))
    if found := problems(changed):
        raise ScenarioError(problems_at(changed, found))
    return changed


def _values(changes: Sequence[str]) -> dict[str, str | float]:
    values: dict[str, str | float] = {}
    for typed in changes:
        address, sign, value = (part.strip() for part in typed.partition("="))
        if not (address and sign and value):
            raise UsageError(f"--set {typed}: ADDRESS=VALUE is due, such as edges/lip/radius=5 mm")
        if address in values:
            raise UsageError(f"--set {typed}: {address} is set twice")
        values[address] = value
    return values
