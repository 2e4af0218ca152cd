"""Whatever is typed ends as a scenario or as problems with places, never as a traceback."""

from __future__ import annotations

from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from edgewear.errors import Problem, ScenarioError
from edgewear.scenario.read.reading import build
from edgewear.scenario.text.tree import Tree, parse_tree
from support.scenario_files import EXAMPLES, SHIPPED

TEXTS = {file: file.read_text() for file in [*EXAMPLES, *SHIPPED]}
ODD: list[Any] = [
    "", "x", "5", "-5 m", "5 m", "0 m", "100 %", "none", "yes", "edge attendant", "1e300 m", "kerb",
    [], ["x"], [["x"]], ["5 m", "6 m"], {}, {"x": "y"}, {"value": "5 m"}, {"value": "x"},
    {"is": "pad"}, {"like": "steel"}, {"like": ["x"]}, {"x": {"y": ["z"]}}, [{"x": "y"}],
    {"ascend": "5 m"}, [{"repeat": {"times": "2", "steps": []}}], "inspect", {"from": "1 m"},
]  # fmt: skip


def paths(data: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """List every place of a tree."""
    children = (
        data.items()
        if isinstance(data, dict)
        else enumerate(data)
        if isinstance(data, list)
        else ()
    )
    return [path, *(p for key, value in children for p in paths(value, (*path, key)))]  # fmt: skip


def changed(tree: Tree, path: tuple[Any, ...], what: str, odd: Any, name: str) -> None:
    """Replace, drop, rename or double what stands at a place."""
    if not path:
        return
    parent = tree.data
    for part in path[:-1]:
        parent = parent[part]
    last = path[-1]
    if what == "replace":
        parent[last] = deepcopy(odd)
    elif what == "drop":
        del parent[last]
    elif what == "wrap":
        parent[last] = {name: parent[last]}
    elif what == "rename" and isinstance(parent, dict):
        parent[name] = parent.pop(last)


def check(file: Path, draw: st.DataObject) -> None:
    tree = parse_tree(TEXTS[file], "fuzzed.yaml")
    for _ in range(draw.draw(st.integers(1, 3))):
        path = draw.draw(st.sampled_from(paths(tree.data)))
        what = draw.draw(st.sampled_from(["replace", "drop", "wrap", "rename"]))
        odd = draw.draw(st.sampled_from(ODD))
        changed(
            tree, path, what, odd, draw.draw(st.sampled_from(["x", "is", "like", "edge", "a, b"]))
        )
    assert all(p.message and p.line >= 1 for p in problems(tree))


def problems(tree: Tree) -> tuple[Problem, ...]:
    """Build a tree and give what was wrong with it."""
    try:
        build(tree)
    except ScenarioError as error:
        return error.problems
    return ()


@pytest.mark.parametrize("file", TEXTS, ids=lambda file: file.stem)
@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
@given(draw=st.data())
def test_changed_file_is_read_or_refused(file: Path, draw: st.DataObject) -> None:
    check(file, draw)


@pytest.mark.long
@pytest.mark.parametrize("file", TEXTS, ids=lambda file: file.stem)
@settings(max_examples=2000, deadline=None, suppress_health_check=list(HealthCheck))
@given(draw=st.data())
def test_changed_file_is_read_or_refused_many_times(file: Path, draw: st.DataObject) -> None:
    check(file, draw)


@settings(max_examples=60, deadline=None)
@given(st.text(max_size=200))
def test_any_text_is_read_or_refused(text: str) -> None:
    with pytest.raises(ScenarioError):
        build(parse_tree(text, "fuzzed.yaml"))
