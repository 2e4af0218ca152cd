"""Which tests run which lines, told by running them once unchanged; it only puts tests in order.

A test that does not run a line cannot notice a change of it, with exceptions: a line run when a
module is loaded, in a process of its own, or for a result that is kept from one test for the next.
Therefore nothing is ever left out: those that run a line come first, the quickest first, and what
they do not notice is tried by all the others of the room before it counts as a survivor. A line
run when a fixture for several tests is made counts as run by all that use the fixture.
"""

from __future__ import annotations

import ast
import json
import warnings
from collections import defaultdict
from collections.abc import Generator, Iterable
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

import coverage
import pytest

LOADING = ""
"""What runs outside every test: loading, mostly."""
PIECES = (ast.stmt, ast.ExceptHandler, ast.match_case)
MAKERS = (ast.FunctionDef, ast.AsyncFunctionDef)


@dataclass
class Record:
    """How long each test takes [s], and by file and line those that run it."""

    took: dict[str, float] = field(default_factory=dict)
    reached: dict[str, dict[int, set[str]]] = field(
        default_factory=lambda: defaultdict(lambda: defaultdict(set))
    )

    def add(self, written: dict) -> None:
        """Take in what a recorder has written."""
        self.took |= written["took"]
        for file, lines in written["reached"].items():
            for line, tests in lines.items():
                self.reached[file][int(line)] |= set(tests)

    def of_files(self, files: list[str]) -> list[str]:
        """Give the tests in some files."""
        return [test for test in self.took if file_of(test) in files]

    def seconds(self, tests: Iterable[str]) -> float:
        """Give how long some tests take [s]."""
        return sum(self.took[test] for test in tests)

    def parted(
        self, tests: Iterable[str], file: str, source: str, line: int
    ) -> tuple[list[str], list[str]]:
        """Give the tests that run the statement on a line, and all others, each in their order."""
        within = statement(source, line)
        lines = self.reached[file]
        by = {test for one in (within or lines) for test in lines.get(one, ())}
        every = list(tests)
        first = self.ordered([test for test in every if test in by])
        near = {test for tests in lines.values() for test in tests}
        rest = [test for test in every if test not in by]
        rest = [
            *self.ordered([test for test in rest if test in near]),
            *self.ordered([test for test in rest if test not in near]),
        ]
        return first, rest

    def ordered(self, tests: list[str]) -> list[str]:
        """Give tests file by file, the quickest file first, and the quickest test in it."""
        whole: dict[str, float] = defaultdict(float)
        for test in tests:
            whole[file_of(test)] += self.took[test]
        return sorted(tests, key=lambda one: (whole[file_of(one)], file_of(one), self.took[one]))


def file_of(test: str) -> str:
    """Give the file of a test."""
    return test.partition("::")[0]


@cache
def _pieces(source: str) -> dict[int, tuple[set[int], bool]]:
    """Give for each line those of its innermost statement, and whether they run in a function."""
    found: dict[int, tuple[set[int], bool]] = {}

    def walk(node: ast.AST, inside: bool) -> None:
        for name, value in ast.iter_fields(node):
            below = inside or (isinstance(node, MAKERS) and name == "body")
            for child in value if isinstance(value, list) else [value]:
                if isinstance(child, PIECES):
                    place = child.pattern if isinstance(child, ast.match_case) else child
                    lines = set(range(place.lineno, _end(child) + 1))
                    found.update(dict.fromkeys(lines, (lines, below)))
                    walk(child, below)
                    lines -= _below(child)
                elif isinstance(child, ast.AST):
                    walk(child, below)

    walk(ast.parse(source), False)
    return found


def _end(node: ast.AST) -> int:
    last = node.body[-1] if isinstance(node, ast.match_case) else node
    return last.end_lineno


def _below(node: ast.AST) -> set[int]:
    """Give the lines of the statements within a statement, but the one that it begins on."""
    begins = node.pattern.lineno if isinstance(node, ast.match_case) else node.lineno
    return {
        line
        for child in ast.walk(node)
        if isinstance(child, ast.stmt) and child is not node
        for line in range(child.lineno, child.end_lineno + 1)
    } - {begins}


def statement(source: str, line: int) -> set[int]:
    """Give the lines of the innermost statement on a line; none where loading runs it."""
    lines, inside = _pieces(source)[line]
    return lines if inside else set()


class Recorder:
    """Tells, as a part of pytest, which lines of some files each test runs and how long it takes.

    Parameters:
        folder: the tree.
        files: those whose lines are told.
        out: where it is written.
    """

    def __init__(self, folder: Path, files: list[str], out: Path) -> None:
        self.folder, self.files, self.out = folder, files, out
        self.took: dict[str, float] = defaultdict(float)
        self.stood_for: dict[str, set[str]] = defaultdict(set)
        self.within = [LOADING]
        self.tracer = coverage.Coverage(
            data_file=None, config_file=False, messages=False,
            include=[str(folder / file) for file in files],
        )  # fmt: skip
        self.tracer.start()

    def _enter(self, name: str) -> Generator[None, object, object]:
        self.within.append(name)
        self.tracer.switch_context(name)
        try:
            return (yield)
        finally:
            self.within.pop()
            self.tracer.switch_context(self.within[-1])

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Generator[None, object, object]:
        """Keep apart what a test runs."""
        self.took[item.nodeid] = 0.0
        self.stood_for[item.nodeid].add(item.nodeid)
        for fixtures in item._fixtureinfo.name2fixturedefs.values():
            for one in fixtures:
                self.stood_for[_name_of(one)].add(item.nodeid)
        return (yield from self._enter(item.nodeid))

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(
        self, fixturedef: pytest.FixtureDef
    ) -> Generator[None, object, object]:
        """Keep apart what is made for several tests."""
        if fixturedef.scope == "function":
            return (yield)
        return (yield from self._enter(_name_of(fixturedef)))

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Note how long it took."""
        self.took[report.nodeid] += report.duration

    def pytest_sessionfinish(self) -> None:
        """Write it."""
        self.tracer.stop()
        with warnings.catch_warnings(action="ignore"):  # it warns where none of the lines ran
            data = self.tracer.get_data()
        reached = {
            file: {
                line: sorted({test for one in ran for test in self.stood_for.get(one, ())})
                for line, ran in data.contexts_by_lineno(str(self.folder / file)).items()
            }
            for file in self.files
        }
        self.out.write_text(json.dumps({"took": self.took, "reached": reached}), "utf-8")


def _name_of(fixture: pytest.FixtureDef) -> str:
    return f"{fixture.baseid}\n{fixture.argname}"


class Turns:
    """Runs, as a part of pytest, the tests that it is given, in their order."""

    def __init__(self, tests: list[str]) -> None:
        self.turns = {test: turn for turn, test in enumerate(tests)}

    @pytest.hookimpl(trylast=True)
    def pytest_collection_modifyitems(
        self, config: pytest.Config, items: list[pytest.Item]
    ) -> None:
        """Leave out and put in order."""
        config.hook.pytest_deselected(items=[i for i in items if i.nodeid not in self.turns])
        items[:] = sorted(
            (item for item in items if item.nodeid in self.turns),
            key=lambda item: self.turns[item.nodeid],
        )
