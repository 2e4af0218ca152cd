"""Slips that everybody makes: a tab, a colon forgotten, a unit as spoken, a helper undefined."""

from __future__ import annotations

import pytest

from edgewear.errors import ScenarioError
from edgewear.scenario import load_text
from edgewear.scenario.text.tree import parse_tree
from edgewear.scenario.text.units import DIMENSIONS, SPOKEN, UnitProblem, to_si
from support.scenario_files import SHIPPED

LINES = [
    pytest.param(path, place, id=f"{path.stem}-{place + 1}")
    for path in SHIPPED[:2]
    for place, line in enumerate(path.read_text().splitlines())
    if line.strip() and not line.strip().startswith("#")
]


def refused(text: str) -> tuple[int, str] | None:
    """Line and message of what makes a text no YAML; None where it is."""
    try:
        parse_tree(text, "some.yaml")
    except ScenarioError as error:
        return error.problems[-1].line, error.problems[-1].message
    return None


@pytest.mark.parametrize(("path", "place"), LINES)
def test_a_tab_is_named_where_it_stands(path, place):
    lines = path.read_text().splitlines()
    indented = lines[place] != lines[place].lstrip()
    lines[place] = "\t" + lines[place].lstrip()
    found = refused("\n".join(lines))
    assert found is not None or indented  # YAML lets a tab pass where no level begins
    if found is not None:
        assert found[0] == place + 1
        assert "a tab" in found[1]


@pytest.mark.parametrize(("path", "place"), LINES)
def test_a_colon_that_is_missing_is_named_with_its_line_and_what_to_type(path, place):
    lines = path.read_text().splitlines()
    key, colon, rest = lines[place].partition(":")
    if not colon or any(mark in key for mark in "{[\"'-"):
        return
    lines[place] = key + rest
    found = refused("\n".join(lines))
    if found is None:  # still YAML; what is missing then is told by its key
        with pytest.raises(ScenarioError):
            load_text("\n".join(lines), "some.yaml")
        return
    assert found[0] == place + 1
    assert "a colon" in found[1]
    assert f"`{key.strip().split()[0]}" in found[1]


def test_what_is_no_such_slip_is_told_as_the_reader_of_yaml_tells_it():
    line, message = refused("edgewear: 1\ntitle: [a, b\nsetting: test\n") or (0, "")
    assert line
    assert message.startswith("this is not YAML")


@pytest.mark.parametrize("word", sorted(SPOKEN))
def test_a_spoken_unit_is_refused_with_the_one_to_write(word):
    unit = SPOKEN[word]
    for dimension in DIMENSIONS.values():
        if unit not in dimension.factors or word in dimension.factors:
            continue
        for typed in {word, word.capitalize(), f"{word}."} - set(dimension.factors):
            with pytest.raises(UnitProblem) as refusal:
                to_si(f"40 {typed}", dimension)
            assert f"write '40 {unit}'" in str(refusal.value)


def test_somebody_undefined_who_watches_is_told_of_the_edge_attendant():
    text = SHIPPED[1].read_text()
    assert "edge attendant" in text
    with pytest.raises(ScenarioError) as refusal:
        load_text(text.replace("edge attendant", "helper"), "some.yaml")
    said = [problem.message for problem in refusal.value.problems]
    assert said
    assert all("somebody who only watches is 'edge attendant'" in one for one in said)
