"""Changing a few values of a file's text: it reads as it should, and nothing else is touched."""

from __future__ import annotations

import random
from copy import deepcopy
from typing import Any

import pytest

from edgewear.board.editing.splice import scalar, spliced
from edgewear.errors import UsageError
from edgewear.scenario.text.tree import parse_tree
from support.scenario_files import SHIPPED

AWKWARD: list[Any] = [
    "5 m", "a: b", "x # y", "{q", "- z", "it's", '"q"', "über", "7", "true", "~", "null",
    "*x", "&y", "!t", "a\nb", "a, b", "[c", " d ", "", "@e", "%f", "`g", "?", "-", "k:", "\u2028",
    "\u0085", "\x07",
    {"a": "1", "b": ["2", "c,d"], "e}": {"f": "g: h"}}, ["x", "y"], ["{", {"z": "]"}],
]  # fmt: skip


def data_of(text: str) -> Any:
    return parse_tree(text, "file").data


def holders(value: Any) -> list[Any]:
    """Every mapping and list in a file, the outermost first."""
    inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    found = [value] if isinstance(value, dict | list) else []
    return found + [one for part in inner for one in holders(part)]


def changed(data: Any, rng: random.Random) -> Any:
    """The values with one thing set, added or taken away anywhere."""
    data = deepcopy(data)
    here, value = rng.choice(holders(data)), deepcopy(rng.choice(AWKWARD))
    what = rng.choice(["set", "take", "add"])
    if isinstance(here, list):
        at = rng.randrange(len(here))
        if what == "set":
            here[at] = value
        elif what == "take" and len(here) > 1:
            del here[at]
        else:
            here.insert(rng.randint(0, len(here)), value)
    elif what == "set":
        here[rng.choice(list(here))] = value
    elif what == "take" and len(here) > 1:
        del here[rng.choice(list(here))]
    else:
        items = list(here.items())
        items.insert(rng.randint(0, len(items)), (f"new, {rng.randint(0, 10**9)}", value))
        here.clear()
        here.update(items)
    return data


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_any_change_reads_as_it_was_meant(path: Any) -> None:
    text, rng = path.read_text(), random.Random(path.stem)
    for _ in range(15):
        wanted = changed(data_of(text), rng)
        text = spliced(text, wanted)
        assert data_of(text) == wanted


@pytest.mark.long
@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_many_changes_read_as_they_were_meant(path: Any, seed: int) -> None:
    text, rng = path.read_text(), random.Random(f"{path.stem} {seed}")
    for _ in range(200):
        wanted = changed(data_of(text), rng)
        text = spliced(text, wanted)
        assert data_of(text) == wanted


def leaves(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Paths of all plain texts."""
    if isinstance(value, dict):
        return [one for key, inner in value.items() for one in leaves(inner, (*path, key))]
    if isinstance(value, list):
        return [one for at, inner in enumerate(value) for one in leaves(inner, (*path, at))]
    return [path]


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_a_value_set_anew_touches_that_value_alone(path: Any) -> None:
    text = path.read_text()
    rng = random.Random(path.stem)
    for where in rng.sample(leaves(data_of(text)), 12):
        wanted = deepcopy(data_of(text))
        here = wanted
        for part in where[:-1]:
            here = here[part]
        old, here[where[-1]] = here[where[-1]], "zzz"
        after = spliced(text, wanted)
        at = after.index("zzz")
        assert after[:at] == text[:at]
        rest = after[at + 3 :]
        assert text.endswith(rest)
        cut = text[at : len(text) - len(rest)]
        assert parse_tree(f"k: {cut}", "cut").data == {"k": old}  # the old value and no more


def test_the_same_values_leave_the_text_alone() -> None:
    for path in SHIPPED:
        assert spliced(path.read_text(), data_of(path.read_text())) == path.read_text()


def test_line_ends_stay() -> None:
    text = "a: 1\r\nb: {c: 2}   # said\r\nd:\r\n  - e\r\n"
    after = spliced(text, {"a": "1", "b": {"c": "3"}, "d": ["e"]})
    assert after == "a: 1\r\nb: {c: 3}   # said\r\nd:\r\n  - e\r\n"


def test_a_key_with_another_name_keeps_its_place_and_its_comment() -> None:
    text = "a:\n  b: 1  # why\n  c: 2\n"
    assert spliced(text, {"a": {"x": "1", "c": "2"}}) == "a:\n  x: 1  # why\n  c: 2\n"


@pytest.mark.parametrize("text", ["", "# nothing\n", "a: ["])
def test_a_text_that_is_no_mapping_is_refused(text: str) -> None:
    with pytest.raises(UsageError):
        spliced(text, {"a": "1"})


@pytest.mark.parametrize("flow", [True, False])
@pytest.mark.parametrize("text", [one for one in AWKWARD if isinstance(one, str)])
def test_quotes_stand_only_where_they_must(text: str, flow: bool) -> None:
    spelled = scalar(text, flow)
    sample = f"{{k: {spelled}}}" if flow else f"k: {spelled}"
    assert parse_tree(sample, "sample").data == {"k": text}
    if text.isalnum():
        assert spelled == text


@pytest.mark.parametrize("word", ["-", "?", "k:", ":", "a, b", "[c", "5 m", ""])
@pytest.mark.parametrize("braces", ["{a: b}", "[a, b]", "{a: {b: c}}", "[[a]]"])
def test_a_word_takes_the_place_of_braces(braces: str, word: str) -> None:
    """It is spelled for where it then stands: a lone dash is a word in braces and none outside."""
    for text, wanted in (
        (f"top:\n  key: {braces}\n  more: x\n", {"top": {"key": word, "more": "x"}}),
        (f"top: {{key: {braces}, more: x}}\n", {"top": {"key": word, "more": "x"}}),
        (f"top:\n- {braces}\n- x\n", {"top": [word, "x"]}),
    ):
        assert data_of(spliced(text, wanted)) == wanted
