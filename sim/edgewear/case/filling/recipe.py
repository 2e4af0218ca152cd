"""How a case's arrays follow from numbers, the scenario's and those of runs alike."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from edgewear.case.edge_conditions import Condition, fill_condition
from edgewear.case.filling.numbers import Column, Numbers
from edgewear.case.filling.work_numbers import write_work
from edgewear.case.model import Pattern, Records
from edgewear.case.nominal_records import fill_edge, fill_line, fill_person, fill_wear
from edgewear.layout import EDGE, LINE, MAX_EDGES, PERSON, WEAR, Kind
from edgewear.rigging.findings.control import line_of
from edgewear.rigging.model import Rigged
from edgewear.scenario.models.people import System, Technique
from edgewear.scenario.models.scenario import Option, Scenario

Arrays = dict[str, Records]
"""people (runs, people), lines (runs, lines), edges (runs, lines, MAX_EDGES), wear (runs, lines),
variants (runs, variants)."""

RISES = ("rise", "sit back", "rise time", "drop time", "pause time")
"""Numbers of a stroke, by the words of a technique."""

STROKE = ("rise_m", "sit_back_m", "rise_s", "drop_s", "pause_s")
"""Fields of a movement that hold them."""


@dataclass(frozen=True)
class Recipe:
    """An option with what its arrays are filled from."""

    scenario: Scenario
    option: Option
    rigged: Rigged
    patterns: tuple[Pattern, ...]
    people: tuple[str, ...]
    conditions: tuple[Condition, ...]

    def arrays(self, numbers: Numbers, runs: int = 1) -> Arrays:
        """Fill every array but the tape.

        Parameters:
            numbers: of the runs.
            runs: how many.
        """
        return {
            "people": self._people(numbers, runs),
            "lines": self._lines(numbers, runs),
            "edges": self._edges(numbers, runs),
            "wear": self._wear(numbers, runs),
            "variants": self._variants(numbers, runs),
        }

    def _people(self, numbers: Numbers, runs: int) -> Records:
        found = np.zeros((runs, len(self.people)), PERSON)
        for row, name in enumerate(self.people):
            found[:, row] = fill_person(name, self.option.people[name], numbers, runs)
        return found

    def _lines(self, numbers: Numbers, runs: int) -> Records:
        found = np.zeros((runs, len(self.rigged.sections)), LINE)
        for row, section in enumerate(self.rigged.sections):
            line = line_of(self.option, section)
            found[:, row] = fill_line(self.scenario, section, line, numbers, runs)
        return found

    def _edges(self, numbers: Numbers, runs: int) -> Records:
        found = np.zeros((runs, len(self.rigged.sections), MAX_EDGES), EDGE)
        for row, section in enumerate(self.rigged.sections):
            for column, edge in enumerate(section.edges):
                found[:, row, column] = fill_edge(
                    self.scenario, self.option, section, edge, numbers, runs
                )
        return found

    def _wear(self, numbers: Numbers, runs: int) -> Records:
        found = np.zeros((runs, len(self.rigged.sections)), WEAR)
        for row, section in enumerate(self.rigged.sections):
            found[:, row] = fill_wear(self.scenario, section, numbers, runs)
        return found

    def _variants(self, numbers: Numbers, runs: int) -> Records:
        found = np.zeros((runs, len(self.conditions)), EDGE)
        for index, condition in enumerate(self.conditions):
            section = self.rigged.sections[condition.row]
            found[:, index] = fill_condition(
                self.scenario, self.option, section, condition, numbers, runs
            )
        return found

    def write_tape(self, tape: Records, numbers: Numbers) -> None:
        """Write the numbers of strokes, and how long work lasts, into a tape.

        Parameters:
            tape: MOVEMENT (runs, m), as recorded with the scenario's numbers; changed in place.
            numbers: of the runs.
        """
        for index, pattern in enumerate(self.patterns):
            self._write_strokes(tape, index, pattern, numbers)
        write_work(self.scenario, self.people, tape, numbers)

    def stroke(self, pattern: Pattern, numbers: Numbers) -> Pattern:
        """Give a pattern with the numbers of one run.

        Parameters:
            pattern: of the case.
            numbers: of the run, each (1,).
        """
        found = pattern._asdict()
        for field, value in self._moved(pattern, numbers):
            found[field] = float(np.ravel(value)[0])
        return Pattern(**found)

    def _write_strokes(self, tape: Records, index: int, pattern: Pattern, numbers: Numbers) -> None:
        where = (tape["pattern"][0] == index) & (tape["kind"][0] == Kind.STROKES)
        for field, value in self._moved(pattern, numbers):
            tape[field][:, where] = np.reshape(value, (-1, 1))

    def _moved(self, pattern: Pattern, numbers: Numbers) -> Iterator[tuple[str, Column]]:
        """Give the fields of a stroke that runs have numbers of, each a scalar or (runs,)."""
        system = self._system(pattern)
        for word, field in zip(RISES, STROKE, strict=True):
            name = f"techniques/{pattern.technique}/{word}"
            if not numbers.moves(name) or not self.from_library(pattern, word):
                continue
            value = numbers(name, getattr(self._technique(pattern), attribute(word)))
            if word == "rise":
                value = value * system.rise_factor.value
            elif word == "sit back":
                value = value + system.slack.value
            yield field, value

    def from_library(self, pattern: Pattern, word: str) -> bool:
        """Tell whether a number of a pattern is that of its technique's word, not one typed."""
        known = self.scenario.techniques.get(pattern.technique)
        mine = getattr(self._technique(pattern), attribute(word))
        return known is not None and mine == getattr(known, attribute(word))

    def _technique(self, pattern: Pattern) -> Technique:
        own = self.option.people[self.people[pattern.person]].technique
        if own.name == pattern.technique:
            return own
        return self.scenario.techniques[pattern.technique]

    def _system(self, pattern: Pattern) -> System:
        if pattern.system:
            return self.scenario.systems[pattern.system]
        return self.option.people[self.people[pattern.person]].system


def attribute(word: str) -> str:
    """Turn a word with blanks into the field that holds its value."""
    return word.replace(" ", "_")
