"""Which steps of a job are surely made before which others, whatever takes how long."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import NamedTuple

from edgewear.scenario.models.scenario import Scenario
from edgewear.scenario.models.step import JobStep
from edgewear.scenario.models.steps import Event, Step, WaitFor
from edgewear.scenario.models.walking import rounds
from edgewear.scenario.text.tree import Path_

MOST_STEPS = 5000
"""A list that is longer with its repeats written out is not looked at."""


class Spot(NamedTuple):
    """A step of somebody's list with its repeats written out."""

    person: str
    number: int  # from 0


class Order:
    """The steps of all lists, and which of them one list's events put before another's."""

    def __init__(self, scenario: Scenario) -> None:
        self.lists: dict[str, list[tuple[Path_, Step]]] = {}
        for who, steps in scenario.job.items():
            made = []
            for one in rounds(steps, ("job", who)):
                made.append(one)
                if len(made) > MOST_STEPS:
                    made = []
                    break
            self.lists[who] = made
        self._after = lru_cache(maxsize=None)(self._reached)

    def steps(self) -> Iterator[tuple[Spot, Step]]:
        """Give all steps, list by list."""
        for who, made in self.lists.items():
            for number, (_, step) in enumerate(made):
                yield Spot(who, number), step

    def of(self, kind: type[JobStep], edge: str) -> Iterator[Spot]:
        """Give the steps of a kind at an edge."""
        return (spot for spot, step in self.steps() if isinstance(step, kind) and step.at(edge))

    def path(self, spot: Spot) -> Path_:
        """Return where a step stands in the file."""
        return self.lists[spot.person][spot.number][0]

    def before(self, one: Spot, other: Spot) -> bool:
        """Tell whether a step is surely over before another begins."""
        if one.person == other.person:
            return one.number < other.number
        return other.number >= self._after(one).get(other.person, len(self.lists[other.person]))

    def _reached(self, one: Spot) -> dict[str, int]:
        """Return from which step on each list surely comes after a step.

        Whoever waits for an event that is said only after it goes on after it.
        """
        after, todo = {one.person: one.number + 1}, [one.person]
        while todo:
            todo.pop()
            said = self._said_only_after(after)
            for who, made in self.lists.items():
                waits = (
                    n for n, (_, s) in enumerate(made) if isinstance(s, WaitFor) and s.name in said
                )
                first = next(waits, len(made)) + 1
                if first < after.get(who, len(made) + 1):
                    after[who] = first
                    todo.append(who)
        return after

    def _said_only_after(self, after: dict[str, int]) -> set[str]:
        """Return the events that are said only by steps that come after."""
        said, earlier = set[str](), set[str]()
        for spot, step in self.steps():
            if isinstance(step, Event):
                late = spot.number >= after.get(spot.person, spot.number + 1)
                (said if late else earlier).add(step.name)
        return said - earlier
