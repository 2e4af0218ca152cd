"""How long a function and a file may grow."""

from __future__ import annotations

import ast
from collections.abc import Iterator

from support.tree import PACKAGE, sources

BODY_LINES = 60
ARGUMENTS = 12
FILE_LINES = 400
LONG_ON_PURPOSE = {
    "mechanics/step/one_edge_step.py:step_single",
    "mechanics/step/stage.py:make_stepper",
}
"""`room/file.py:function` of the step kernel: scalars that a compiler must see in one piece, since
handing them on by arrays costs a third of the speed."""

Function = ast.FunctionDef | ast.AsyncFunctionDef


def bodies(text: str) -> Iterator[tuple[str, int]]:
    """Name and length of each function's body, without its docstring."""
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, Function):
            described = ast.get_docstring(node) is not None and len(node.body) > 1
            first = node.body[1 if described else 0].lineno
            yield node.name, (node.end_lineno or first) - first + 1


def test_a_body_is_counted_without_its_docstring() -> None:
    assert list(bodies('def f():\n    """One\n\n    two."""\n    a = 1\n    return a\n')) == [
        ("f", 2)
    ]


def test_no_function_is_longer_than_a_screen() -> None:
    long = {
        f"{path.relative_to(PACKAGE)}:{name}": lines
        for path in sources()
        for name, lines in bodies(path.read_text())
        if lines > BODY_LINES
    }
    assert {name: lines for name, lines in long.items() if name not in LONG_ON_PURPOSE} == {}
    assert set(long) >= LONG_ON_PURPOSE, "an exception nobody needs any more"


def arguments(text: str) -> Iterator[tuple[str, int]]:
    """Name and number of arguments of each function."""
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, Function):
            given = node.args
            yield node.name, len(given.posonlyargs + given.args + given.kwonlyargs)


def test_no_kernel_takes_more_arguments_than_can_be_told_apart() -> None:
    many = {
        f"{path.relative_to(PACKAGE)}:{name}": count
        for path in sources()
        for name, count in arguments(path.read_text())
        if path.relative_to(PACKAGE).parts[0] == "mechanics" and count > ARGUMENTS
    }
    assert list(arguments("def f(a, /, b, *, c): ...")) == [("f", 3)]
    assert many == {}


def test_no_file_is_longer_than_a_topic() -> None:
    lines = {str(path.relative_to(PACKAGE)): path.read_text().count("\n") for path in sources()}
    assert {name: count for name, count in lines.items() if count > FILE_LINES} == {}
