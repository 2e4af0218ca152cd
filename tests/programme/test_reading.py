"""A file of tests: what it says, and every slip at its line and column."""

from __future__ import annotations

from math import inf

import pytest

from edgewear.errors import ScenarioError
from edgewear.programme.reading import programme_text
from support.programmes import TOWER, with_line


def test_a_file_of_tests_says_what_was_typed() -> None:
    found = programme_text(TOWER)
    assert [one.name for one in found] == ["T1", "T2, sample 1", "T2, sample 2", "M1"]
    first, _, second, machine = found.tests
    assert (first.option, first.line) == ("bare", 28)
    assert [one.censoring for one in first.seen] == ["interval"]
    assert [one.censoring for one in second.seen] == ["interval", "exact"]
    assert [one.censoring for one in machine.seen] == ["left", "right", "right"]
    assert second.scenario.people["climber"].technique.name == "smooth"
    assert (machine.bench, machine.batch, machine.on) == ("cellar", "drum 3", "2026-05-03")
    assert [p.value for p in machine.stages() if p is not None] == [
        20.0,
        90.0,
        40.0,
    ]  # the last: as the scenario has it
    lost = machine.seen[2]
    assert (lost.low, lost.high, lost.spread) == (0.05, inf, 0.03)  # type: ignore[union-attr]
    assert found.asked["wear/sheath energy"].high == 3e9
    assert found.benches["cellar"].low == 0.5


def test_a_stage_is_the_test_stopped_there() -> None:
    test = programme_text(TOWER).tests[0]
    heights = [test.at(stage).job["climber"][0].height.value for stage in test.stages()]
    assert heights == [3.0, 4.0]


SLIPS = {
    "edgewear tests: 1": ("edgewear tests: 7", 16),
    "arris: {radius: 1 mm": ("arris: {radius: 1 mmm", 16),
    "wear/sheath energy: {": ("wear/sheeth energy: {", 0),
    "{value: 3e8 J/m3": ("{value: 3e8 J", 0),
    "cellar: {value": ("celar: {value", 0),
    "scenario: machine": ("scenario: machin", 10),
    "people/climber/technique: smooth": ("people/climber/technique: smoth", 26),
    "samples: 2": ("samples: two", 9),
    "how far: job/1/reciprocate/cycles": ("how far: job/1/reciprocate/circles", 9),
    "not by: 3 m, by: 4 m": ("not by: 3 m, by: 4 kg", 17),
    "seen: usable": ("seen: useable", 6),
    "error: 0.1 kN": ("error: 0 kN", 7),
    "value: 1 kN": ("value: 1 kilo", 7),
    "fuzz: {by": ("fuz: {by", 0),
    "not by: 90": ("not by: ninety", 8),
    "error: 0.3": ("error: -0.3", 7),
    "at least: 5 %": ("at least: 5 m", 10),
    "bench: cellar": ("bensh: cellar", 0),
}
"""What stands there -> a slip in it, and how many columns after it the slip is named."""

HIDES = ("mmm", "machin", "celar", "fuz:", "circles")
"""Slips that hide what follows from them: a set-up that is not there, its benches and stages."""


@pytest.mark.parametrize("typed", SLIPS)
def test_a_slip_is_named_at_its_line_and_column(typed: str) -> None:
    slip, further = SLIPS[typed]
    text, line, column = with_line(TOWER, typed, slip)
    with pytest.raises(ScenarioError) as error:
        programme_text(text)
    places = [(problem.line, problem.column) for problem in error.value.problems]
    assert (line, column + further) in places, error.value


def test_slips_in_every_field_are_named_at_once() -> None:
    text, wanted = TOWER, set()
    for typed, (slip, _) in SLIPS.items():
        if not any(word in slip for word in HIDES):
            text, line, _ = with_line(text, typed, slip)
            wanted.add(line)
    with pytest.raises(ScenarioError) as error:
        programme_text(text)
    assert wanted <= {problem.line for problem in error.value.problems}


def test_a_programme_names_its_tests_and_what_is_planned() -> None:
    text = TOWER.replace("    seen: [{core visible: {not by: 3 m, by: 4 m}}]\n", "", 1)
    found = programme_text(text)
    assert [one.name for one in found.planned()] == ["T1"]
    assert found.digest != programme_text(TOWER).digest
