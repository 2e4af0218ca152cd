"""Reading a file of tests: everything that is wrong with it at once, or a `Programme`."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from edgewear.errors import ScenarioError
from edgewear.programme.entries import EntryReader
from edgewear.programme.model import Programme, RopeTest
from edgewear.programme.set_ups import SetUps
from edgewear.programme.table import table_tree
from edgewear.scenario.models.scenario import Scenario
from edgewear.scenario.read.addresses import quantity_due
from edgewear.scenario.read.libraries import accuracies, built_in
from edgewear.scenario.text.choices import did_you_mean
from edgewear.scenario.text.measured import Measured
from edgewear.scenario.text.quantities import Quantity
from edgewear.scenario.text.quantity_text import QuantityProblem, read_quantity
from edgewear.scenario.text.tree import Path_, Tree, parse_tree, problems_of, read_tree

FORMAT = "1"
"""Version of the format of a file of tests."""

TOP_KEYS = ("edgewear tests", "title", "scenarios", "asked", "benches", "tests", "table")
"""Every key at the top of a file of tests."""


def load_programme(path: str | Path) -> Programme:
    """Read a file of tests; scenarios and tables that it names are looked for beside it.

    Raises:
        ScenarioError: with every problem found, each at its line and column.
    """
    return programme_of(read_tree(path))


def programme_text(text: str, path: str = "tests") -> Programme:
    """Read a file of tests from its text.

    Parameters:
        text: the content of the file.
        path: the name to show in messages; what it names is looked for beside it.

    Raises:
        ScenarioError: with every problem found.
    """
    return programme_of(parse_tree(text, path))


def programme_of(tree: Tree) -> Programme:
    """Build a programme from a file's values.

    Raises:
        ScenarioError: with every problem found.
    """
    _check_top(tree)
    set_ups = SetUps(tree)
    tests = _tests(tree, set_ups)
    asked = _asked(tree, set_ups)
    benches = _benches(tree, tests)
    if tree.problems:
        raise ScenarioError(problems_of(tree))
    title = tree.data.get("title", "")
    return Programme(str(title), tests, asked, benches, tree.file, tree.text)


def _check_top(tree: Tree) -> None:
    for key in tree.data:
        if key not in TOP_KEYS:
            hint = did_you_mean(key, list(TOP_KEYS))
            message = f"unknown key {key!r}: allowed are {', '.join(TOP_KEYS)}{hint}"
            tree.report((key,), message, key=True)
    for key in ("edgewear tests", "scenarios"):
        if key not in tree.data:
            tree.report((), f"{key!r} is missing")
    if "tests" not in tree.data and "table" not in tree.data:
        tree.report((), "'tests' is missing: entries, or `table` with the name of a file")
    version = tree.data.get("edgewear tests", FORMAT)
    if version != FORMAT:
        tree.report(("edgewear tests",), f"format {version!r}: this version reads format {FORMAT}")


def named(tree: Tree, key: str) -> dict[str, Any]:
    """Give a section's named things as typed."""
    found = tree.data.get(key, {})
    if isinstance(found, dict):
        return found
    tree.report((key,), "names with their values are due")
    return {}


def _tests(tree: Tree, set_ups: SetUps) -> tuple[RopeTest, ...]:
    """Read every test, those of the table after those typed."""
    entries, found = EntryReader(tree, set_ups), list[RopeTest]()
    for name, entry in named(tree, "tests").items():
        found += entries.read(name, entry, ("tests", name))
    return (*found, *_of_table(tree, set_ups))


def _of_table(tree: Tree, set_ups: SetUps) -> list[RopeTest]:
    """Read the tests of the table that the file names."""
    table = table_tree(tree)
    if table is None:
        return []
    reader = EntryReader(table, set_ups.reporting_in(table))
    tests = [
        test
        for name, entry in table.data["tests"].items()
        for test in reader.read(name, entry, ("tests", name))
    ]
    tree.problems += table.problems
    return tests


def _asked(tree: Tree, set_ups: SetUps) -> dict[str, Measured]:
    """Read the numbers to be learned, each an address that some set-up knows."""
    asked: dict[str, Measured] = {}
    for address, found in named(tree, "asked").items():
        path: Path_ = ("asked", address)
        quantity = next(
            (q for s in set_ups.built() if (q := _quantity(s, address)) is not None), None
        )
        if quantity is None and set_ups.broken:
            continue  # it may stand in a scenario that cannot be read
        if quantity is None:
            tree.report(path, _unknown(address, set_ups), key=True)
            continue
        value = quantity_in(tree, found, quantity, path)
        if value is not None and value.is_exact:
            tree.report(path, "a range is due: what is believed before any of these tests")
        elif value is not None:
            asked[address] = value
    return asked


def _quantity(scenario: Scenario, address: str) -> Quantity | None:
    """The kind of quantity at an address that a scenario has."""
    from edgewear.programme.set_ups import place_of

    data = parse_tree(scenario.source, scenario.path).data
    path, problem = place_of(data, address)
    return None if problem else quantity_due(path, data)


def _unknown(address: str, set_ups: SetUps) -> str:
    """Say why an address is no number that can be learned."""
    from edgewear.programme.set_ups import place_of

    said = [
        problem
        for s in set_ups.built()
        if (problem := place_of(parse_tree(s.source, s.path).data, address)[1])
    ]
    return f"leads nowhere: {said[0]}" if said else "is no quantity that can be learned"


def _benches(tree: Tree, tests: tuple[RopeTest, ...]) -> dict[str, Measured]:
    """Read how severe each bench's edges may be."""
    benches: dict[str, Measured] = {}
    known = sorted({test.bench for test in tests if test.bench})
    for name, found in named(tree, "benches").items():
        path: Path_ = ("benches", name)
        if name not in known and not tree.problems:
            hint = did_you_mean(name, known)
            tree.report(path, f"no test names the bench {name!r}{hint}", key=True)
        quantity = Quantity("factor", low=0.0, above=True)
        value = quantity_in(tree, found, quantity, path)
        if value is not None:
            benches[name] = value
    return benches


def quantity_in(tree: Tree, found: object, quantity: Quantity, path: Path_) -> Measured | None:
    """Read a quantity; None after a problem, which has been reported."""
    try:
        return read_quantity(found, quantity, context())
    except QuantityProblem as problem:
        tree.report(path, str(problem))
    return None


def context() -> Mapping[str, Any]:
    """What quantities of a test are read with: what is typed is meant as it stands."""
    return {"accuracy": accuracies(built_in()), "exact": True}
