"""The scenarios that tests are made with: files beside the tests, or written in their file."""

from __future__ import annotations

from collections.abc import Mapping
from copy import copy
from pathlib import Path
from typing import Any

from edgewear.errors import Problem, ScenarioError
from edgewear.scenario.models.scenario import Scenario
from edgewear.scenario.models.steps import STEPS
from edgewear.scenario.read.addresses import matching, quantity_due
from edgewear.scenario.read.reading import build, load_scenario, with_values
from edgewear.scenario.text.choices import did_you_mean
from edgewear.scenario.text.quantities import Quantity
from edgewear.scenario.text.retyping import spelled_out
from edgewear.scenario.text.tree import Path_, Tree, child

SECTION = "scenarios"


class SetUps:
    """The scenarios of a file of tests by name, problems reported in its tree."""

    def __init__(self, tree: Tree) -> None:
        """Read every scenario.

        Parameters:
            tree: of the file of tests.
        """
        self.tree = tree
        found = tree.data.get(SECTION, {})
        if not isinstance(found, dict):
            tree.report((SECTION,), "names with a file or a scenario each are due")
            found = {}
        self.names = list(found)
        self._built = {name: self._read(name, one) for name, one in found.items()}

    def reporting_in(self, tree: Tree) -> SetUps:
        """Give the same set-ups, with problems of those who ask for them in another file's tree."""
        other = copy(self)
        other.tree = tree
        return other

    @property
    def broken(self) -> bool:
        """Whether a scenario cannot be used, or none is there."""
        return not self._built or None in self._built.values()

    def built(self) -> list[Scenario]:
        """Scenarios that can be used."""
        return [one for one in self._built.values() if one is not None]

    def named(self, name: str | None, path: Path_) -> tuple[str, Scenario | None]:
        """Give a scenario; none after a problem, which has been reported.

        Parameters:
            name: as typed; None: the only one.
            path: of the test that asks for it.
        """
        listed = ", ".join(self.names)
        if name is None and len(self.names) == 1:
            name = self.names[0]
        if name is None:
            self.tree.report(path, f"'scenario' is missing: allowed are {listed}")
            return "", None
        if name not in self.names:
            hint = did_you_mean(name, self.names)
            self.tree.report((*path, "scenario"), f"{name!r}: allowed are {listed}{hint}")
        return name, self._built.get(name)

    def changed(
        self, scenario: Scenario, values: Mapping[str, str], path: Path_
    ) -> Scenario | None:
        """Give a scenario with a test's own values; none after problems, at their values.

        Parameters:
            values: address -> text as typed.
            path: where the values stand in the file of tests.
        """
        if not values:
            return scenario
        try:
            return with_values(scenario, values)
        except ScenarioError as whole:
            before = len(self.tree.problems)
            for address, value in values.items():
                try:
                    with_values(scenario, {address: value})
                except ScenarioError as error:
                    self._retell(error, (*path, address))
            if len(self.tree.problems) == before:
                self._retell(whole, path)
        return None

    def _retell(self, error: ScenarioError, path: Path_) -> None:
        """Report what a scenario says of a value where the value was typed."""
        for problem in error.problems:
            own = str(path[-1])
            where = "" if problem.address == own else f"{problem.address}: "
            self.tree.report(path, where + problem.message)

    def _read(self, name: str, found: object) -> Scenario | None:
        path: Path_ = (SECTION, name)
        try:
            if isinstance(found, str):
                return load_scenario(Path(self.tree.file).parent / found)
            if isinstance(found, dict):
                return build(_inner(self.tree, path, found))
        except ScenarioError as error:
            for problem in error.problems:
                self._note(problem, path)
            return None
        self.tree.report(path, "the name of a scenario's file is due, or a scenario")
        return None

    def _note(self, problem: Problem, path: Path_) -> None:
        """Note what is wrong with a scenario; where its file cannot be read, where it is named."""
        if problem.line:
            self.tree.note(_below(problem, self.tree, path))
        else:
            self.tree.report(path, f"{problem.file}: {problem.message}")


def _inner(tree: Tree, path: Path_, found: dict[str, Any]) -> Tree:
    """Give the part of a file that is a scenario, each value at its place in the whole file."""
    deep = len(path)
    return Tree(
        file=tree.file,
        text=spelled_out(found),
        data=found,
        values={p[deep:]: at for p, at in tree.values.items() if p[:deep] == path},
        keys={p[deep:]: at for p, at in tree.keys.items() if p[:deep] == path},
    )


def _below(problem: Problem, tree: Tree, path: Path_) -> Problem:
    """Put the address of a scenario's problem below its place in the file of tests."""
    if problem.file != tree.file:
        return problem
    inner = "/".join(part for part in (*map(str, path), problem.address) if part)
    return problem._replace(address=inner)


def place_of(data: Mapping[str, Any], address: str) -> tuple[Path_, str]:
    """Give the one path that an address stands for, or say why there is none.

    Parameters:
        data: a scenario's text values.
    """
    match = matching(data, address)
    if match.problem:
        return (), match.problem
    if len(match.paths) > 1:
        return (), f"{address!r} stands for {len(match.paths)} places: one is due"
    return match.paths[0], ""


def quantity_at(data: Mapping[str, Any], path: Path_) -> Quantity | None:
    """Give the kind of quantity at a place, also of a step that is typed short.

    Parameters:
        data: a scenario's text values.
        path: as given by `place_of`.
    """
    due = quantity_due(path, data)
    if due is not None or path[:1] != ("job",):
        return due
    by_word = {model.model_fields["step"].default: model for model in STEPS}
    short = getattr(by_word.get(path[-1]), "short", "")
    return quantity_due((*path, short), data) if short else None


def text_at(data: object, path: Path_) -> str:
    """Give the text typed at a place; empty where there is none or more than one."""
    for part in path:
        _, data = child(data, part)
    return data if isinstance(data, str) else ""
