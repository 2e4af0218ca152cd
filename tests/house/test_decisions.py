"""No decision is made by searching a sentence: what was found is typed until it is put in words.

Names that people type may be any words, so a search for our own words finds theirs as well.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator

import pytest

from support.tree import PACKAGE, sources

SEARCHES = {
    "startswith", "endswith", "find", "rfind", "partition", "rpartition", "split", "rsplit",
    "removeprefix", "removesuffix", "replace",
}  # fmt: skip
"""Methods that look into a text."""

PATTERNS = {"match", "search", "fullmatch", "findall", "finditer", "compile", "split", "sub"}
"""Functions of `re`."""

SENTENCES = {
    "text", "sentence", "said", "told", "words", "why", "detail", "message", "reason", "beyond",
    "meaning", "name", "names", "what",
}  # fmt: skip
"""What holds texts as this package calls it; any literal looked for in one of these counts."""

READS_TYPED_TEXT = ("scenario/text/", "scenario/read/", "scenario/reference/", "report/formats/")
"""Rooms whose work it is to read what people typed, or to write markup."""

ALLOWED = {
    "board/editing/retyped.py": "types a length that was dragged as it was typed before",
    "board/editing/tied.py": "types a leg that was dragged in the words it was typed in",
    "dataset/processor.py": "reads what the machine says of its processor",
    "mechanics/device/compiled.py": "turns over a module's text, made by a compiler",
    "report/drawings/pictures.py": "takes the head off markup of its own",
    "report/write.py": "knows its own files by their names",
    "scenario/models/base.py": "spells the name of a field as people type it",
}
"""Files in which a literal is looked for in a text, and why."""


def found(tree: ast.AST) -> Iterator[ast.expr]:
    """Every place where a word is looked for in a text."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            of_re = isinstance(node.func.value, ast.Name) and node.func.value.id == "re"
            looks = node.func.attr in (PATTERNS if of_re else SEARCHES)
            if looks and any(map(is_words, node.args[:1])):
                yield node
        elif isinstance(node, ast.Compare):
            texts = [node.left, *node.comparators]
            for literal, operator, where in zip(texts, node.ops, texts[1:], strict=False):
                if isinstance(operator, ast.In | ast.NotIn) and is_searched(literal, where):
                    yield node


def is_words(literal: ast.expr) -> bool:
    """A literal, or some, with letters that make a word; an address is none."""
    if isinstance(literal, ast.Tuple):
        return any(map(is_words, literal.elts))
    text = value_of(literal)
    return "/" not in text and bool(re.search(r"(?<!\\)[A-Za-z]{2,}", text))


def is_searched(literal: ast.expr, where: ast.expr) -> bool:
    """Words looked for in what holds texts, or any words with a space between."""
    if isinstance(where, ast.Tuple | ast.List | ast.Set):
        return False
    named = where.attr if isinstance(where, ast.Attribute) else getattr(where, "id", "")
    text = value_of(literal)
    return bool(re.search(r"[A-Za-z] [A-Za-z]", text)) or (named in SENTENCES and is_words(literal))


def value_of(literal: ast.expr) -> str:
    """A literal's text, of an f-string what is fixed of it; else nothing."""
    if isinstance(literal, ast.JoinedStr):
        return "".join(map(value_of, literal.values))
    known = isinstance(literal, ast.Constant) and isinstance(literal.value, str)
    return literal.value if known else ""


@pytest.mark.parametrize(
    "bad",
    [
        'beyond = " ".join(row["beyond"])\nmark = "!" * ("drop of" in beyond)',
        'grave = text.endswith("!") or text.startswith("NO")',
        'above = [t for t in row["beyond"] if t.startswith(("drop of", "peak of"))]',
        'works = [s for s in stays if s.name.startswith("work")]',
        'bare = "bare edge" in option.facts["mind"][0]',
        'if "lost" not in words: pass',
        'kind = re.match(r"wait for (.+)", begin.detail)',
        'who = told.partition(" with ")[2]',
        'short = component.replace(f"on the {person} ", "on the ")',
    ],
)
def test_a_sentence_searched_is_found(bad: str) -> None:
    assert list(found(ast.parse(bad)))


@pytest.mark.parametrize(
    "good",
    [
        'if row.kind in ("anchor", "re-anchor"): pass',
        'if "value" in entry: pass',
        'address.split("/")',
        'address.startswith("wear/")',
        "if row.is_above(Figure.DROP): pass",
        'name.strip("_").replace("_", " ")',
    ],
)
def test_what_is_no_sentence_is_left_alone(good: str) -> None:
    assert not list(found(ast.parse(good)))


def test_no_sentence_is_searched() -> None:
    bad = {}
    for path in sources():
        name = path.relative_to(PACKAGE).as_posix()
        lines = [node.lineno for node in found(ast.parse(path.read_text()))]
        if lines and not name.startswith(READS_TYPED_TEXT):
            bad[name] = lines
    assert {name: lines for name, lines in bad.items() if name not in ALLOWED} == {}
    assert set(bad) >= set(ALLOWED), "an exception nobody needs any more"
