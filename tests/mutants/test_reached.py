"""Which tests run which lines: statements on several lines, fixtures for many, what is kept."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

from mutants.run import ROOT, Record

SOURCE = """\
LIMIT = 3
def far(
    x,
    y=LIMIT + 1,
):
    if (
        x > y
        and x
    ):
        return (
            x +
            1
        )
    elif x < 0: return 0
    match x:
        case int() if x < 2:
            x = 2
    return x
class Kept:
    most = 5
"""
TESTS = """\
import functools, pytest, a
@pytest.fixture(scope="module")
def made(): return a.far(9)
@functools.cache
def kept(): return a.far(1)
def test_first(made): assert made == 10
def test_second(made): assert made == 10
def test_third(): assert kept() == 2
def test_fourth(): assert kept() == 2
"""
RUN = """\
import sys; from pathlib import Path
from mutants.reached import Recorder; from mutants.run import tested
sys.path.insert(0, ".")
sys.exit(tested(["test_a.py"], Recorder(Path.cwd(), ["a.py"], Path("out.json"))))
"""
NOWHERE: set[int] = set()


@pytest.mark.parametrize(
    ("line", "lines"),
    [(1, NOWHERE), (4, NOWHERE), (20, NOWHERE), (8, {6, 7, 8, 9}), (12, {10, 11, 12, 13}),
     (14, {14}), (15, {15, 16}), (16, {16}), (17, {17}), (18, {18})],
)  # fmt: skip
def test_a_line_counts_with_all_of_its_statement_but_what_loading_runs(
    line: int, lines: set[int]
) -> None:
    from mutants.reached import statement

    assert statement(SOURCE, line) == lines


@pytest.fixture(scope="module")
def record(tmp_path_factory: pytest.TempPathFactory) -> Record:
    """What is told of the tests above."""
    folder = tmp_path_factory.mktemp("tree")
    (folder / "a.py").write_text(SOURCE, "utf-8")
    (folder / "test_a.py").write_text(TESTS, "utf-8")
    (folder / "pytest.ini").write_text("[pytest]\n", "utf-8")
    paths = {"PYTHONPATH": str(ROOT / "tests"), "PATH": "/usr/bin:/bin"}
    subprocess.run([sys.executable, "-c", RUN], cwd=folder, env=paths, check=True)
    made = Record()
    made.add(json.loads((folder / "out.json").read_text("utf-8")))
    return made


def test_all_that_use_a_fixture_run_its_lines_and_nothing_is_left_out(record: Record) -> None:
    every = [f"test_a.py::test_{name}" for name in ("first", "second", "third", "fourth")]
    assert set(record.of_files(["test_a.py"])) == set(every)
    first, rest = record.parted(every, "a.py", SOURCE, 10)
    assert set(first) == set(every[:2])
    assert rest == [every[2], every[3]]  # a result that is kept is another test's: it comes last
    loaded, others = record.parted(every, "a.py", SOURCE, 1)
    assert set(loaded) == set(every[:3])
    assert others == [every[3]]
