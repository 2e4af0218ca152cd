"""What observations leave open: on which option, and on whose line something was measured."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from edgewear.errors import Problem, ScenarioError

if TYPE_CHECKING:
    from edgewear.scenario.models.observations import Observation
    from edgewear.scenario.models.scenario import Scenario


def refuse_unclear(scenario: Scenario) -> None:
    """Refuse observations of which nobody can say where they were made.

    Raises:
        ScenarioError: there is none, or some leave the option or the person open; each at its
            place in the file.
    """
    from edgewear.scenario.read.reading import problems_at

    if not scenario.observed:
        nothing = "nothing was observed; `mark travel`, `bounce` or `inspection` is due"
        raise ScenarioError([Problem(scenario.path, 1, 1, "observed", nothing)])
    if found := list(_unclear(scenario)):
        raise ScenarioError(problems_at(scenario, found))


def _unclear(scenario: Scenario) -> Iterator[tuple[str, str]]:
    """Give address and message of everything that an observation leaves open."""
    options = list(scenario.options)
    for index, one in enumerate(scenario.observed, 1):
        where = f"observed/{index}/{one.observation}"
        if one.option is None and len(options) > 1:
            told = "several options; each observation must say which `option` was rigged: "
            yield f"{where}/option", told + _listed(options)
            continue
        option = one.option or options[0]
        if told := _whose(one, option, list(scenario.options[option].people)):
            yield f"{where}/person", told


def _whose(one: Observation, option: str, people: Sequence[str]) -> str:
    """Say what is wrong with whose line it was; empty when nothing is."""
    if one.person is None:
        due = "several people; each observation must say whose line it was, as `person`: "
        return due + _listed(people) if len(people) > 1 else ""
    if one.person in people:
        return ""
    return f"{one.person!r} hangs on no line of option {option!r}; {_listed(people)} may be meant"


def _listed(names: Sequence[str]) -> str:
    return ", ".join(map(repr, names))
