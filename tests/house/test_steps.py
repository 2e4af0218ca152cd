"""A step knows itself: nobody outside the step classes asks for its word."""

from __future__ import annotations

import ast
from collections.abc import Iterator

import pytest

from support.tree import PACKAGE, sources

HOME = "scenario/models/steps.py"
"""Where steps say what they are."""


def asked(text: str) -> Iterator[int]:
    """Lines on which the word of a step is compared with something."""
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Compare):
            sides = [node.left, *node.comparators]
            if any(
                isinstance(side, ast.Attribute) and side.attr == "step" for side in sides
            ) and any(
                isinstance(part, ast.Constant) and isinstance(part.value, str)
                for side in sides
                for part in ast.walk(side)
            ):
                yield node.lineno


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        ('if step.step == "haul": pass', [1]),
        ('a = made.step.step != "rest"', [1]),
        ('a = [s for s in own\n     if s.step in ("work", "swing")]', [2]),
        ("if row.step == 3 or row.step == number: pass", []),
        ('if isinstance(step, Haul) or step.loading or wanted.steps == "x": pass', []),
    ],
)
def test_a_word_that_is_asked_for_is_found(text: str, lines: list[int]) -> None:
    assert list(asked(text)) == lines


def test_nobody_asks_a_step_for_its_word() -> None:
    found = {
        f"{path.relative_to(PACKAGE)}:{line}"
        for path in sources()
        if str(path.relative_to(PACKAGE)) != HOME
        for line in asked(path.read_text())
    }
    assert found == set()
