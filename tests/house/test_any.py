"""Where a type is left open: seldom, and with the reason beside it."""

from __future__ import annotations

import ast
from collections.abc import Iterator

from support.tree import PACKAGE, sources

MOST = 40
"""Bare `Any` outside the kernels, whose records numba types by itself."""


def bare(text: str) -> Iterator[tuple[int, str]]:
    """Line and reason of each annotation that is `Any` and no more; the reason is its comment."""
    lines = text.splitlines()
    for node in ast.walk(ast.parse(text)):
        for said in (getattr(node, "annotation", None), getattr(node, "returns", None)):
            if isinstance(said, ast.Name) and said.id == "Any":
                yield said.lineno, lines[said.lineno - 1].partition("  # ")[2]


def found() -> list[tuple[str, str]]:
    """`room/file.py:line` and reason of each."""
    return [
        (f"{path.relative_to(PACKAGE)}:{line}", reason)
        for path in sources()
        if "mechanics" not in path.relative_to(PACKAGE).parts
        for line, reason in bare(path.read_text())
    ]


def test_a_bare_any_is_seen_with_its_reason() -> None:
    text = "def f(a: Any, *b: Any) -> dict[str, Any]:  # because\n    c: Any = 1\n"
    assert sorted(bare(text)) == [(1, "because"), (1, "because"), (2, "")]


def test_few_types_are_left_open() -> None:
    assert len(found()) <= MOST


def test_an_open_type_has_its_reason_beside_it() -> None:
    assert [place for place, reason in found() if not reason] == []
