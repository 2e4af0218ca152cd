"""Words, colours and signs that no output may carry, and paths that no file may name."""

from __future__ import annotations

import ast
import colorsys
import re
from collections.abc import Iterator

import pytest

from support.tree import PACKAGE, kept_files, sources, text_of

NEVER = re.compile(
    r"\b(safe|safely|validated|green|lime)\b|[\u2713\u2714\u2611\u2705\U0001f5f8]", re.I
)
COLOUR = re.compile(r"#([0-9a-fA-F]{6}|[0-9a-fA-F]{3})\b")
OWN_MACHINE = re.compile(
    "|".join(
        (
            r"/wo" r"rk/(main|shared)",
            r"/tm" r"p/ew",
            r"/op" r"t/ew",
            r"/ro" r"ot/",
            r"shared/" r"design",
        )
    )
)


def spoken(text: str) -> Iterator[str]:
    """String constants of a module that may reach a reader: all but docstrings."""
    tree = ast.parse(text)
    silent = {
        id(node.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    }
    for node in ast.walk(tree):
        if (
            isinstance(node, ast.Constant)
            and isinstance(node.value, str)
            and id(node) not in silent
        ):
            yield node.value


def greenish(colour: str) -> bool:
    """Whether a hex colour reads as green: hue 75 to 170 degrees and not nearly grey."""
    full = "".join(c * 2 for c in colour) if len(colour) == 3 else colour
    red, green, blue = (int(full[i : i + 2], 16) / 255 for i in (0, 2, 4))
    hue, _, saturation = colorsys.rgb_to_hls(red, green, blue)
    return 75 <= hue * 360 <= 170 and saturation > 0.15


def faults(text: str) -> list[str]:
    """Everything in a text that an output may not carry."""
    words = [match.group() for match in NEVER.finditer(text)]
    return words + [c for c in COLOUR.findall(text) if greenish(c)]


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("the rope is safe", 1),
        ("safety line", 0),
        ("model Validated", 1),
        ("\u2713 done", 1),
        ("fill:#0a0", 1),
        ("fill:#2e7d32", 1),
        ("fill:#777; stroke:#1a4f8a", 0),
    ],
)
def test_the_search_finds_what_it_is_for(text: str, count: int) -> None:
    assert len(faults(text)) == count


def test_no_output_promises_anything() -> None:
    found = {
        str(path.relative_to(PACKAGE)): bad
        for path in sources()
        if (bad := [fault for text in spoken(path.read_text()) for fault in faults(text)])
    }
    assert found == {}


def test_no_shipped_text_promises_anything() -> None:
    data = [p for p in PACKAGE.rglob("*") if p.is_file() and p.suffix not in (".py", ".pyc")]
    found = {str(p.relative_to(PACKAGE)): bad for p in data if (bad := faults(text_of(p)))}
    assert found == {}


def test_no_file_names_a_path_of_somebodys_machine() -> None:
    named = [str(path) for path in kept_files() if OWN_MACHINE.search(text_of(path))]
    assert named == []
