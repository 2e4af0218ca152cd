"""A scenario changed for the sake of one option: what only others cannot do rules nothing out."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from edgewear.errors import Problem, ScenarioError
from edgewear.rigging import problems
from edgewear.scenario import load_text
from edgewear.scenario.models.scenario import Scenario
from edgewear.scenario.read.reading import problems_at
from edgewear.scenario.text.retyping import spelled_out
from edgewear.scenario.text.tree import parse_tree

OF_OTHERS = ("study", "observed")
"""Sections that may name any option, and tell nothing of a limit."""


def changed_for(
    option: str, scenario: Scenario, change: Callable[[Scenario], Scenario]
) -> Scenario:
    """Change a scenario, and look whether one option can be used then.

    Parameters:
        option: its name.
        scenario: as read from a text.
        change: gives the scenario read again.

    Raises:
        ScenarioError: this option cannot be used so.
    """
    try:
        changed = change(scenario)
    except ScenarioError as error:
        changed = _changed_alone(option, scenario, change, error.problems)
    if found := problems(changed, option):
        raise ScenarioError(problems_at(changed, found))
    return changed


def _changed_alone(
    option: str,
    scenario: Scenario,
    change: Callable[[Scenario], Scenario],
    whole: Sequence[Problem],
) -> Scenario:
    """Change a scenario without its other options.

    Without them a step that only they make possible would be a problem of its own: what is told
    stands where something stood before. The words may be others, for of options that have the
    same problem the first one alone is named.
    """
    try:
        return change(_alone(option, scenario))
    except ScenarioError as error:
        said = {problem.address for problem in whole}
        own = [problem for problem in error.problems if problem.address in said]
        raise ScenarioError(own or whole) from error


def _alone(option: str, scenario: Scenario) -> Scenario:
    data = dict(parse_tree(scenario.source, scenario.path).data)
    data["options"] = {option: data["options"][option]}
    kept = {key: value for key, value in data.items() if key not in OF_OTHERS}
    return load_text(spelled_out(kept), scenario.path, scenario.library_source)
