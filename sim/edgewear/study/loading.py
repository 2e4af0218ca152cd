"""A scenario that can be rigged: read from its file, and held against its own geometry."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from edgewear.errors import ScenarioError

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
