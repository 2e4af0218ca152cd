"""The YAML that is read: text kept, places known, surprises refused."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from edgewear.errors import ScenarioError
from edgewear.scenario.text import tree as trees
from edgewear.scenario.text.tree import MAX_BYTES, MAX_DEPTH, MAX_VALUES, parse_tree, read_tree


def problems(text: str) -> list[tuple[int, int, str]]:
    try:
        tree = parse_tree(text, "file")
    except ScenarioError as error:
        return [(p.line, p.column, p.message) for p in error.problems]
    return [(p.line, p.column, p.message) for p in tree.problems]


def test_every_scalar_stays_text() -> None:
    tree = parse_tree("a: 012\nb: yes\nc: 1e3\nd: 2026-01-01\ne: 12:30\nf: ~\n", "file")
    assert tree.data == {
        "a": "012", "b": "yes", "c": "1e3", "d": "2026-01-01", "e": "12:30", "f": "~",
    }  # fmt: skip


def test_place_of_keys_and_values() -> None:
    tree = parse_tree("a:\n  b c: [x, {d: y}]\n", "file")
    assert tree.place(("a", "b c"), key=True) == (2, 3)
    assert tree.place(("a", "b c", 0)) == (2, 9)
    assert tree.place(("a", "b c", 1, "d")) == (2, 16)
    assert tree.place(("a", "b c", 1, "nothing", "here")) == (2, 12)


@pytest.mark.parametrize(
    ("text", "line", "column", "said"),
    [
        ("a: 1\nb: 2\na: 3\n", 3, 1, "given twice; first in line 1"),
        ("a: &x 1\nb: 2\n", 1, 4, "anchor &x"),
        ("&x a: 1\nb: 2\n", 1, 1, "anchor &x"),
        ("a: &x 1\nb: *x\n", 2, 4, "alias \\*x"),
        ("a: {<<: 1}\n", 1, 5, "merge key"),
        ("a: !!int 3\n", 1, 4, "tag"),
        ("a: !!python/object/apply:os.system [x]\n", 1, 4, "tag"),
        ("a: 1\n---\nb: 2\n", 2, 1, "second document"),
        ("? [x, y]\n: 1\n", 1, 3, "a key must be a word"),
        ("a:\nb: 1\n", 1, 1, "'a' has no value"),
        ("a: [1, ]\nb: [x, '', ~]\nc: [,]\n", 3, 5, "not YAML"),
        ("a: [1\nb: 2\n", 2, 2, "not YAML"),
        ("a: \tx: y: z\n", 1, 6, "not YAML"),
        ("- a\n- b\n", 1, 1, "keys with values are due"),
        ("just text\n", 1, 1, "keys with values are due"),
        ("", 1, 1, "keys with values are due"),
        ("a: b\x07c\n", 1, 5, "not allowed"),
    ],
)
def test_surprise_is_refused_at_its_place(text: str, line: int, column: int, said: str) -> None:
    import re

    found = problems(text)
    assert any(re.search(said, message) for _, _, message in found), found
    assert (line, column) in [(at, col) for at, col, m in found if re.search(said, m)], found


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a: {posts, rollers: {anchor: x}}\n", '"posts, rollers"'),
        ("a: {anchor: posts, rollers, rope: x}\n", '"posts, rollers"'),
        ("a: {out: 1,5 m, up: 2 m}\n", "1,5 m: a number has a point"),
    ],
)
def test_comma_in_braces_is_asked_about(text: str, said: str) -> None:
    assert any(said in message for _, _, message in problems(text))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a: " + "[" * (MAX_DEPTH + 2) + "]" * (MAX_DEPTH + 2), "deeper than"),
        ("a: [" + "x," * (MAX_VALUES + 1) + "x]", "more than"),
    ],
)
def test_caps_hold(text: str, said: str) -> None:
    assert any(said in message for _, _, message in problems(text))


def nested(levels: int, values: str) -> str:
    """A file with some values in a list so many levels deep."""
    return "a: " + "[" * levels + values + "]" * levels


@pytest.mark.parametrize("levels", [MAX_DEPTH - 1, MAX_DEPTH])
def test_the_cap_that_is_passed_is_named(levels: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """A key of the file and a place in each list lead to a value: so many levels deep it lies."""
    most = MAX_DEPTH + 5
    monkeypatch.setattr("edgewear.scenario.text.tree.MAX_VALUES", most)
    here = MAX_DEPTH - 1  # lists below the key, whose values lie as deep as may be
    assert problems(nested(here, "x")) == []
    found = problems(nested(levels, ", ".join("x" * most)))
    [(line, column, said)] = found
    first = len("a: ") + levels + 1  # where the values begin; the file and each list are some too
    assert line == 1
    assert column == (first if levels > here else first + 3 * (most - levels - 1))
    assert ("deeper than" in said) == (levels > here)
    assert (f"more than {most}" in said) == (levels <= here)


def test_too_large_a_file_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "large.yaml"
    file.write_bytes(b"# " + b"x" * MAX_BYTES + b"\n")
    with pytest.raises(ScenarioError, match="larger than"):
        read_tree(file)


@pytest.mark.parametrize("encoding", ["utf-16", "utf-32", "latin-1"])
def test_other_encodings_are_refused(tmp_path: Path, encoding: str) -> None:
    file = tmp_path / "other.yaml"
    file.write_bytes("title: Brücke\n".encode(encoding))
    with pytest.raises(ScenarioError, match=r"not UTF-8"):
        read_tree(file)


def test_byte_order_mark_is_no_text(tmp_path: Path) -> None:
    file = tmp_path / "marked.yaml"
    file.write_bytes(b"\xef\xbb\xbftitle: x\n")
    assert read_tree(file).data == {"title": "x"}


def test_columns_count_characters() -> None:
    tree = parse_tree("größe: {länge: [日本, x]}\r\nb: {c: d}\r\n", "file")
    assert tree.place(("größe", "länge", 1)) == (1, 21)
    assert tree.place(("b", "c"), key=True) == (2, 5)


def test_events_without_c_are_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    text = "a: {b: [1, 'x', \"y\"], c: z}\nd: &x 1\n<<: 2\n"
    with_c = parse_tree(text, "file")
    monkeypatch.setattr("edgewear.scenario.text.tree._LOADER", yaml.BaseLoader)
    assert parse_tree(text, "file") == with_c


def test_missing_file_is_said(tmp_path: Path) -> None:
    with pytest.raises(ScenarioError, match="cannot be read"):
        read_tree(tmp_path / "nothing.yaml")


def test_alias_bomb_is_refused_at_once() -> None:
    rows = ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
    rows += [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 9)}]" for i in range(1, 10)]
    assert any("alias" in message for _, _, message in problems("\n".join(rows)))


PLAIN = st.text("abc xyz", min_size=1, max_size=8).map(str.strip).filter(bool)
VALUES = st.recursive(
    PLAIN,
    lambda inner: (
        st.lists(inner, min_size=1, max_size=3)
        | st.dictionaries(PLAIN, inner, min_size=1, max_size=3)
    ),
    max_leaves=12,
)


@given(st.dictionaries(PLAIN, VALUES, min_size=1, max_size=4), st.booleans())
def test_values_are_those_of_the_oracle(data: dict[str, object], flow: bool) -> None:
    text = yaml.safe_dump(data, default_flow_style=flow)
    tree = parse_tree(text, "file")
    assert tree.data == yaml.load(text, Loader=yaml.BaseLoader)
    assert tree.problems == []


@pytest.mark.parametrize("most", [1, 5])
def test_a_file_with_too_many_problems_is_looked_at_no_further(most, monkeypatch) -> None:
    monkeypatch.setattr(trees, "MAX_PROBLEMS", most)
    found = parse_tree("edges: {kerb: 1}", "it.yaml")
    for number in range(1, most):
        found.report(("edges", "kerb"), f"wrong {number}")
    assert len(found.problems) == most - 1
    with pytest.raises(ScenarioError) as told:
        found.report(("edges",), "the last", key=True)
    said = {one.message for one in told.value.problems}  # in the order of their places
    assert said == {"the last", *(f"wrong {number}" for number in range(1, most))}
