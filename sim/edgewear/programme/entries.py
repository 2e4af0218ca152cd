"""Reading one test after the other."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import inf
from typing import Any, Literal, cast

from edgewear.errors import ScenarioError
from edgewear.programme.model import Event, Outcome, Progress, Reading, RopeTest, What
from edgewear.programme.set_ups import SetUps, place_of, quantity_at, text_at
from edgewear.programme.spelled import (
    SPELLED_ADAPTER,
    Came,
    Look,
    Spelled,
    TestEntry,
)
from edgewear.programme.spelled import Reading as TypedReading
from edgewear.scenario.models.scenario import Scenario
from edgewear.scenario.read.libraries import accuracies, built_in
from edgewear.scenario.read.validate import Validator
from edgewear.scenario.text.choices import did_you_mean
from edgewear.scenario.text.quantity_text import QuantityProblem, read_quantity
from edgewear.scenario.text.tree import Path_, Tree, parse_tree
from edgewear.stock.looks import EYE

Place = Callable[[str], Path_]
"""Finds the path of a key of an entry."""

LEVELS = {"fuzz": 0.25, "yarns cut": 0.5, "core visible": 1.0, "sheath broken": 1.0, "parted": 1.0}
"""Figure at which each event comes [1]; fuzz and yarns cut from memory."""

LOOKED = {"nothing": (0.0, 0.25), "fuzz": (0.25, 0.5), "yarns cut": (0.5, 1.0),
          "core visible": (1.0, inf), "usable": (0.0, 0.5), "whole": (0.0, 1.0)}  # fmt: skip
"""Sheath demand that each word of a look stands for, from ... to [1]; from memory."""

CALLED = 0.2
"""Spread of the wear at which people call it so, deviation of the logarithm; assumed."""


class EntryReader:
    """Reads the tests of a file, problems reported in its tree."""

    def __init__(self, tree: Tree, set_ups: SetUps) -> None:
        """Remember what all tests need."""
        self.tree, self.set_ups = tree, set_ups
        context = {"accuracy": accuracies(built_in()), "exact": True}
        self.validator = Validator(context, self._report)

    def read(self, name: str, found: object, path: Path_) -> list[RopeTest]:
        """Read a test, once for each of its samples; empty after problems."""
        before = len(self.tree.problems)
        entry = self._entry(found, path)
        scenario_name, base = self.set_ups.named(entry.scenario, path)
        scenario = base and self.set_ups.changed(base, entry.with_, (*path, "with"))
        samples = self._samples(entry, path)
        option = self._option(entry.option, scenario or base, path)
        stages = Stages(scenario or base, entry.how_far or "", self.tree, path)
        seen = [self._outcome(one, stages, (*path, "seen", k)) for k, one in enumerate(entry.seen)]
        if len(self.tree.problems) > before or scenario is None:
            return []
        test = RopeTest(
            name=name, scenario=scenario, scenario_name=scenario_name, option=option,
            how_far=entry.how_far or "", bench=entry.bench, batch=entry.batch, on=entry.on,
            cost=None if entry.cost is None else entry.cost.value,
            seen=tuple(one for one in seen if one is not None),
            line=self.tree.place(path, key=True)[0],
        )  # fmt: skip
        if samples == 1:
            return [test]
        return [replace(test, name=f"{name}, sample {k}", sample=k) for k in range(1, samples + 1)]

    def _entry(self, found: object, path: Path_) -> TestEntry:
        """Read the keys of a test; of one with problems, those that the others can be judged by."""
        entry = self.validator.model(TestEntry, found, path)
        if entry is not None:
            return entry
        typed = found if isinstance(found, dict) else {}
        texts = {key: typed.get(key) for key in ("scenario", "option", "how far")}
        known: dict[str, Any] = {
            key.replace(" ", "_"): v for key, v in texts.items() if isinstance(v, str)
        }
        values, seen = typed.get("with"), typed.get("seen")
        own = (
            {a: v for a, v in values.items() if isinstance(v, str)}
            if isinstance(values, dict)
            else {}
        )
        listed = tuple(seen) if isinstance(seen, list) else ()
        return TestEntry.model_construct(**known, with_=own, seen=listed)

    def _report(self, path: Path_, message: str, key: bool) -> None:
        self.tree.report(path, message, key=key)

    def _samples(self, entry: TestEntry, path: Path_) -> int:
        typed = str(entry.samples)
        if typed.isascii() and typed.isdigit() and 1 <= int(typed) <= 100:
            return int(typed)
        self.tree.report((*path, "samples"), f"{typed!r}: a whole number from 1 to 100 is due")
        return 1

    def _option(self, name: str | None, scenario: Scenario | None, path: Path_) -> str:
        if scenario is None:
            return ""
        names = list(scenario.options)
        if name is None and len(names) == 1:
            return names[0]
        if name is None:
            self.tree.report(path, f"'option' is missing: allowed are {', '.join(names)}")
            return ""
        if name not in names:
            hint = did_you_mean(name, names)
            message = f"{name!r}: allowed are {', '.join(names)}{hint}"
            self.tree.report((*path, "option"), message)
        return name

    def _outcome(self, found: object, stages: Stages, path: Path_) -> Outcome | None:
        """Read one thing that was seen; none after a problem."""
        entry = self.validator.any(SPELLED_ADAPTER, Spelled, found, path)
        if entry is None:
            return None
        place = _places(entry, found, path)
        if isinstance(entry, Came):
            return self._event(entry, stages, place)
        after = stages.read(entry.after, place("after"))
        if isinstance(entry, Look):
            low, high = LOOKED[entry.seen]
            spread = self._spread(entry, EYE, place)
            return Reading(entry.observation, "demand", after, low, high, spread, True)
        return _reading(entry, after)

    def _event(self, entry: Came, stages: Stages, place: Place) -> Outcome:
        not_by = stages.read(entry.not_by, place("not by")) if entry.not_by else None
        by = stages.read(entry.by, place("by")) if entry.by else None
        if not_by is not None and by is not None and not_by.value >= by.value:
            self.tree.report(place("by"), f"{by.typed!r} must lie beyond `not by`")
        word = entry.observation
        what: Literal["parting", "demand"] = "parting" if word == "parted" else "demand"
        spread = self._spread(entry, CALLED, place)
        return Event(word, what, LEVELS[word], not_by, by, spread)

    def _spread(self, entry: Came | Look, usual: float, place: Place) -> float:
        if entry.error is None:
            return usual
        if entry.error.value <= 0.0:
            self.tree.report(place("error"), "must be above 0: no eye is exact")
            return usual
        return float(entry.error.value)


def _places(entry: Came | Look | TypedReading, found: object, path: Path_) -> Place:
    """How to find the path of a key, whether it stands below its word or beside it."""
    word = entry.observation

    def place(key: str) -> Path_:
        inner = found.get(word) if isinstance(found, dict) else None
        if isinstance(inner, dict) and key in inner:
            return (*path, word, key)
        if isinstance(found, dict) and key in found:
            return (*path, key)
        return (*path, word)

    return place


def _reading(entry: TypedReading, after: Progress | None) -> Reading:
    if entry.value is not None:
        low = high = entry.value.value
    else:
        low = -inf if entry.at_least is None else entry.at_least.value
        high = inf if entry.at_most is None else entry.at_most.value
    word, error = entry.observation, 0.0 if entry.error is None else entry.error.value
    return Reading(word, cast(What, word), after, low, high, error)


class Stages:
    """Reads how far a test was, in the unit of the number that grows in it."""

    def __init__(self, scenario: Scenario | None, how_far: str, tree: Tree, path: Path_) -> None:
        """Find the number that grows.

        Parameters:
            how_far: its address; empty: none is named.
        """
        self.scenario, self.how_far, self.tree, self.path = scenario, how_far, tree, path
        self.known: dict[str, Progress | None] = {}
        self.quantity = None
        self.found = False
        self.own = ""
        """How far the scenario itself goes, as typed; empty: not typed as one text."""
        if how_far and scenario is not None:
            data = parse_tree(scenario.source, scenario.path).data
            inner, problem = place_of(data, how_far)
            self.own = "" if problem else text_at(data, inner)
            self.found = not problem
            if problem:
                tree.report((*path, "how far"), f"leads nowhere: {problem}")
            else:
                self.quantity = quantity_at(data, inner)

    def read(self, typed: str | None, path: Path_) -> Progress | None:
        """Read one stage, the scenario's own where none is typed; none after a problem."""
        if typed is None and not self.own:
            return None
        typed = self.own if typed is None else typed
        if not self.how_far:
            self.tree.report(self.path, "'how far' is missing: the address of what grows")
            return None
        if not self.found or self.scenario is None:
            return None
        if typed not in self.known:
            self.known[typed] = self._read(self.scenario, typed, path)
        return self.known[typed]

    def _read(self, scenario: Scenario, typed: str, path: Path_) -> Progress | None:
        value = self._number(typed, path)
        if value is None:
            return None
        try:
            scenario.with_values({self.how_far: typed})
        except ScenarioError as error:
            for problem in error.problems:
                self.tree.report(path, f"{problem.address}: {problem.message}")
            return None
        return Progress(typed, value)

    def _number(self, typed: str, path: Path_) -> float | None:
        if self.quantity is None:
            if typed.isascii() and typed.isdigit():
                return float(typed)
            self.tree.report(path, f"{typed!r}: a whole number is due, such as 12")
            return None
        try:
            return read_quantity(typed, self.quantity, {}).value
        except QuantityProblem as problem:
            self.tree.report(path, str(problem))
        return None
