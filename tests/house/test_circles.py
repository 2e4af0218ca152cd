"""No import circle, and no crowded room: a file can be read with what it stands on, and no more."""

from __future__ import annotations

import ast
from collections import Counter
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path

import pytest

from support.tree import PACKAGE

MOST_FILES = 15
"""Python files in a room or sub-room."""

Graph = Mapping[str, set[str]]


def modules(package: Path) -> dict[str, Path]:
    """Dotted name -> file, of every module of a package."""
    found = {}
    for path in package.rglob("*.py"):
        parts = path.relative_to(package.parent).with_suffix("").parts
        found[".".join(parts).removesuffix(".__init__")] = path
    return found


def imports(package: Path) -> Graph:
    """Module -> the modules of the package it names, in functions and for types as well."""
    known = modules(package)
    return {name: set(named(path.read_text(), known)) - {name} for name, path in known.items()}


def named(text: str, known: Mapping[str, Path]) -> Iterator[str]:
    """Modules among the known ones that a text imports, wherever in it."""
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names if alias.name in known)
        elif isinstance(node, ast.ImportFrom) and node.module in known:
            full = (f"{node.module}.{alias.name}" for alias in node.names)
            yield from (name if name in known else str(node.module) for name in full)


def circles(graph: Graph) -> list[set[str]]:
    """Groups of modules that reach one another."""
    ahead = {name: reached(graph, name) for name in graph}
    groups = {frozenset(b for b in ahead[a] if a in ahead[b]) for a in graph}
    return sorted((set(group) for group in groups if group), key=min)


def reached(graph: Graph, start: str) -> set[str]:
    """Modules that importing one brings in; itself only where a circle leads back."""
    found: set[str] = set()
    waiting = list(graph[start])
    while waiting:
        name = waiting.pop()
        if name not in found:
            found.add(name)
            waiting += graph[name]
    return found


def crowded(package: Path) -> dict[str, int]:
    """Rooms with more files than a newcomer keeps apart, and how many they hold."""
    rooms = Counter(path.parent for path in package.rglob("*.py"))
    return {room.name: count for room, count in rooms.items() if count > MOST_FILES}


@cache
def drawn() -> Graph:
    """The imports of the package as it stands."""
    return imports(PACKAGE)


def test_no_module_leads_back_to_itself() -> None:
    assert circles(drawn()) == []


@pytest.mark.parametrize(
    "line",
    [
        "import edgewear.study.compare",
        "from edgewear.study import compare",
        "from edgewear.study.compare import compare",
        "def later():\n    from edgewear.study.compare import compare",
        "if TYPE_CHECKING:\n    from edgewear.study.compare import compare",
    ],
)
def test_a_circle_is_seen_wherever_the_import_stands(line: str) -> None:
    above = set(named(line, modules(PACKAGE)))
    name = "edgewear.study.compared"
    broken = {**drawn(), name: drawn()[name] | above}
    (circle,) = circles(broken)
    assert {name, "edgewear.study.compare"} <= circle


def test_no_room_is_crowded() -> None:
    assert crowded(PACKAGE) == {}


def test_a_crowded_room_is_seen(tmp_path: Path) -> None:
    for number in range(MOST_FILES):
        (tmp_path / f"part_{number}.py").touch()
    assert crowded(tmp_path) == {}
    (tmp_path / "one_more.py").touch()
    assert crowded(tmp_path) == {tmp_path.name: MOST_FILES + 1}
