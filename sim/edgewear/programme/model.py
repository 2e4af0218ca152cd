"""A programme of tests: what was set up and what was seen, typed and frozen."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from math import inf
from typing import Literal

from edgewear.scenario.models.scenario import Scenario
from edgewear.scenario.text.quantities import Measured

What = Literal[
    "demand", "parting", "strength lost", "core lost", "anchor peak", "stretch", "slip",
    "contact temperature",
]  # fmt: skip
"""Figures of a run that an observation is about: sheath demand [1]; exposure over the exposure
that parts the rope [1]; share of a new rope's strength lost [1]; of the core's section [1]; pull at
the anchor [N]; stretch at the person [m]; sliding path [m]; contact temperature [degC]."""

Censoring = Literal["exact", "interval", "left", "right"]
"""How an observation bounds what it is about: left, known only to have come by then; right, only
not to have come by then."""


@dataclass(frozen=True)
class Progress:
    """How far a test was: the number at its `how far` address."""

    typed: str
    value: float
    """In SI, or a count; what two of them are compared by."""


@dataclass(frozen=True)
class Figure:
    """A number that a run of a test gives at one stage."""

    what: What
    after: Progress | None
    """None: the test's end as its scenario has it."""


@dataclass(frozen=True)
class Event:
    """Something came about in the course of a test, between two looks or beyond one."""

    word: str
    """As typed: fuzz, yarns cut, core visible, sheath broken, parted."""
    what: Literal["demand", "parting"]
    level: float
    """Value of the figure at which it comes [1]."""
    not_by: Progress | None
    """Last look that did not show it."""
    by: Progress | None
    """First look that showed it."""
    spread: float
    """Of the level that an eye or a rope takes, one standard deviation of the logarithm [1]."""

    @property
    def censoring(self) -> Censoring:
        """Which sides are known."""
        if self.not_by is None:
            return "left"
        return "right" if self.by is None else "interval"

    def figures(self) -> tuple[Figure, ...]:
        """What runs must give to judge it."""
        looks = (look for look in (self.not_by, self.by) if look is not None)
        return tuple(Figure(self.what, look) for look in looks)


@dataclass(frozen=True)
class Reading:
    """A number read, exactly or as an interval, with its error."""

    word: str
    """As typed: look, strength lost, anchor peak ..."""
    what: What
    after: Progress | None
    low: float
    """In SI; -inf: no lower bound; equal to `high`: a value."""
    high: float
    spread: float
    """Error of the reading, one standard deviation, in SI or of the logarithm."""
    logarithmic: bool = False
    """Whether the error is one of the logarithm."""

    @property
    def censoring(self) -> Censoring:
        """Which sides are known."""
        if self.low == self.high:
            return "exact"
        if self.low == -inf:
            return "left"
        return "right" if self.high == inf else "interval"

    def figures(self) -> tuple[Figure, ...]:
        """What runs must give to judge it."""
        return (Figure(self.what, self.after),)


Outcome = Event | Reading


@dataclass(frozen=True)
class RopeTest:
    """One rope tested once; what was seen of it, or nothing where the test is planned."""

    name: str
    scenario: Scenario
    """Its set-up, with its own values in place, played to its end."""
    scenario_name: str
    """Under which its programme keeps the set-up."""
    option: str
    how_far: str = ""
    """Address of the number that grows in the course of the test; empty: only its end is known."""
    bench: str = ""
    batch: str = ""
    on: str = ""
    cost: float | None = None
    seen: tuple[Outcome, ...] = ()
    sample: int = 1
    """Which of the ropes of its test it is, from 1."""
    line: int = 0
    """Of its file, from 1; 0: none."""

    def at(self, after: Progress | None) -> Scenario:
        """Give the scenario of a test that stopped so far on.

        Raises:
            ScenarioError: the scenario cannot be used with that number.
        """
        if after is None:
            return self.scenario
        return self.scenario.with_values({self.how_far: after.typed})

    def figures(self) -> tuple[Figure, ...]:
        """Every number that its runs must give, each once, by stage."""
        return tuple(dict.fromkeys(f for outcome in self.seen for f in outcome.figures()))

    def stages(self) -> tuple[Progress | None, ...]:
        """How far its runs must go, each once."""
        return tuple(dict.fromkeys(figure.after for figure in self.figures()))

    def planned(self) -> RopeTest:
        """Give the same test before anything was seen."""
        return replace(self, seen=())


@dataclass(frozen=True)
class Programme:
    """Tests that are learned from together."""

    title: str
    tests: tuple[RopeTest, ...]
    asked: Mapping[str, Measured]
    """Address of a number to be learned -> what was believed of it before any of these tests."""
    benches: Mapping[str, Measured] = field(default_factory=dict)
    """Bench -> how much more severe its edges may be than its scenario says [1]."""
    path: str = "tests"
    text: str = ""

    @cached_property
    def digest(self) -> str:
        """SHA-256 of the file as read and of the scenarios, libraries and table it names."""
        from hashlib import sha256

        whole = sha256(self.text.encode())
        for test in self.tests:
            whole.update(test.scenario.source.encode())
            whole.update((test.scenario.library_source or "").encode())
            said = (test.name, test.option, test.how_far, test.bench, test.batch, test.seen)
            whole.update(repr(said).encode())
        return whole.hexdigest()

    def named(self, name: str) -> RopeTest:
        """Give a test by its name.

        Raises:
            UsageError: no such test.
        """
        from edgewear.errors import UsageError

        found = next((one for one in self.tests if one.name == name), None)
        if found is None:
            listed = ", ".join(repr(one.name) for one in self.tests)
            raise UsageError(f"no test is called {name!r}; there are {listed}")
        return found

    def made(self) -> tuple[RopeTest, ...]:
        """The tests of which something was seen."""
        return tuple(one for one in self.tests if one.seen)

    def planned(self) -> tuple[RopeTest, ...]:
        """The tests that are still to be made."""
        return tuple(one for one in self.tests if not one.seen)

    def made_together(self) -> tuple[tuple[int, ...], ...]:
        """Of each test that was made the places of its ropes among those of all."""
        found: list[list[int]] = []
        for place, rope in enumerate(self.made()):
            if rope.sample == 1 or not found:
                found.append([])
            found[-1].append(place)
        return tuple(map(tuple, found))

    def counted(self) -> tuple[int, int]:
        """How many tests were made, and on how many ropes."""
        return len(self.made_together()), len(self.made())

    def __iter__(self) -> Iterator[RopeTest]:
        """Go through the tests in the order of the file."""
        return iter(self.tests)
