"""A slip in every field of a file of tests is named on its line, generated from the file itself."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from edgewear.errors import ScenarioError
from edgewear.programme.reading import programme_text
from edgewear.scenario.text.tree import parse_tree
from support.programmes import TOWER

TREE, LINES = parse_tree(TOWER, "tests"), TOWER.split("\n")
OF_THE_OWN_SCENARIO = "scenarios"
"""Set-ups are scenarios, whose fields have tests of their own."""

Place = tuple[int, int]
Field = tuple[str | int, ...]


def keys() -> Iterator[tuple[Field, str, Place]]:
    for path, place in TREE.keys.items():
        named = path[0] in ("tests", OF_THE_OWN_SCENARIO) and len(path) == 2
        if path[0] != OF_THE_OWN_SCENARIO and not named and isinstance(path[-1], str):
            yield path, path[-1], place


def values(found: object = TREE.data, path: Field = ()) -> Iterator[tuple[Field, str, Place]]:
    inner = found.items() if isinstance(found, dict) else enumerate(found)  # type: ignore[arg-type]
    for key, value in inner:
        if isinstance(value, str):
            if path[:1] != (OF_THE_OWN_SCENARIO,) and key not in ("title", "batch", "on", "bench"):
                yield (*path, key), value, TREE.values[*path, key]
        else:
            yield from values(value, (*path, key))


FIELDS = [*keys(), *values()]
SOME = 7
"""Every so many-th field by default: a file is read in a quarter of a second."""


def test_the_file_has_fields_of_every_kind() -> None:
    said = {path[-1] for path, _, _ in FIELDS}
    assert {"tests", "value", "with", "samples", "how far", "not by", "seen", "error"} <= said
    assert len(FIELDS) > 50


@pytest.mark.parametrize(
    "at",
    [pytest.param(k, marks=() if k % SOME == 0 else pytest.mark.long) for k in range(len(FIELDS))],
)
def test_a_slip_is_named_at_its_field_or_at_the_braces_it_stands_in(at: int) -> None:
    path, typed, (line, column) = FIELDS[at]
    text = LINES[line - 1]
    assert text[column - 1 :].startswith(typed)
    slipped = f"{text[: column - 1]}{typed} qq{text[column - 1 + len(typed) :]}"
    with pytest.raises(ScenarioError) as error:
        programme_text("\n".join([*LINES[: line - 1], slipped, *LINES[line:]]))
    around = {TREE.values[path[:k]] for k in range(1, len(path)) if path[:k] in TREE.values}
    places = {(p.line, p.column) for p in error.value.problems}
    beside = (TREE.values[path][0], TREE.values[path][1] + len(" qq"))
    # an address typed as a key is named at its value, which the slip moves along the line
    allowed = {(line, column), beside, *(p for p in around if p[0] == line)}
    assert allowed & places, error.value
