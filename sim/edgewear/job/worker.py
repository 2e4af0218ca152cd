"""A person at work: where they hang, how they move, and what they do next."""

from __future__ import annotations

from collections.abc import Generator, Sequence
from typing import Any, NamedTuple

import simpy

from edgewear.case import Case
from edgewear.job.line import Line, Outcome, Process
from edgewear.job.log import Log
from edgewear.job.moves import Move, climb, hold, let_out, load, ticks, unload

PASSING_S = 120.0
"""Time to pass a re-anchor [s]; assumed."""

HANGING_BELOW_M = 1.0
"""A person hangs so far below a fixed point they have just passed [m]; assumed."""

REST_AT_STOP_S = 3.0
"""Rest at each stop of a descent [s]; assumed."""


class Station(NamedTuple):
    """A section of the person's line and the depths at which they use it."""

    line: int  # row of the case's lines
    name: str
    top_m: float
    bottom_m: float


class Worker:
    """One person, their line cut into stations, and their place in the job."""

    def __init__(
        self,
        env: simpy.Environment,
        case: Case,
        person: int,
        stations: Sequence[Station],
        line: Line,
        log: Log,
        technique: str,
    ) -> None:
        self.env, self.case, self.person, self.log = env, case, person, log
        self.stations, self.line, self.technique = tuple(stations), line, technique
        self.name = case.person_names[person]
        self.depth_m = 0.0
        self.station = self.stations[0]
        self.step = 0

    def say(self, what: str, detail: str = "", value: float = float("nan")) -> None:
        """Write an entry under this person's name."""
        self.log.add(int(self.env.now), self.name, what, self.step, detail, value)

    def pattern(self, technique: str | None) -> int:
        """The person's pattern for a technique, or for their own."""
        return self.case.pattern(self.person, technique or self.technique)

    def make(self, move: Move) -> Generator[simpy.Event, Any, Outcome]:
        """Make one movement on the line in use."""
        move = move._replace(step=self.step, person=self.person)
        outcome = yield from self.line.advance(move)
        self.depth_m = outcome.depth_m
        return outcome

    def hang_on(self, depth_m: float) -> Process:
        """Hang on the station that serves a depth."""
        self.station = self._station_at(depth_m)
        yield from self.make(load(self.station.line, depth_m))
        self.say("hangs on", self.station.name, depth_m)

    def hang_off(self) -> Process:
        """Take the weight off the line."""
        yield from self.make(unload(self.station.line))

    def hang(self, duration_s: float) -> Process:
        """Hang still for a while."""
        if ticks(duration_s) > 0:
            yield from self.make(hold(self.station.line, duration_s))

    def descend(self, length_m: float, technique: str | None = None) -> Process:
        """Go down, stopping as the technique does and passing fixed points on the way."""
        pattern = self.pattern(technique)
        left_m = length_m
        while left_m > 0:
            part_m = min(left_m, self.station.bottom_m - self.depth_m)
            if part_m > 0:
                yield from self._lower_in_stops(pattern, part_m)
            left_m -= max(part_m, 0.0)
            if left_m > 0:
                yield from self._pass_down()
                left_m -= HANGING_BELOW_M

    def ascend(self, height_m: float, technique: str | None = None) -> Process:
        """Climb, passing fixed points on the way."""
        pattern = self.pattern(technique)
        goal_m = self.depth_m - height_m
        while self.depth_m > goal_m:
            top_m = self.station.top_m + HANGING_BELOW_M if self._has_station_above() else goal_m
            part_m = self.depth_m - max(goal_m, top_m)
            if part_m > 0:
                yield from self._climb(pattern, part_m)
            if max(goal_m, top_m) <= goal_m:
                break
            yield from self._pass_up()

    def _climb(self, pattern: int, height_m: float) -> Process:
        start_m = self.depth_m
        yield from self.make(climb(self.case, pattern, self.station.line, height_m))
        self.depth_m = start_m - height_m

    def _lower_in_stops(self, pattern: int, length_m: float) -> Process:
        every_m = self.case.patterns[pattern].stop_every_m
        start_m, left_m = self.depth_m, length_m
        while left_m > 0:
            part_m = min(left_m, every_m)
            left_m -= part_m
            yield from self.make(let_out(self.case, pattern, self.station.line, part_m))
            yield from self.hang(REST_AT_STOP_S)
        self.depth_m = start_m + length_m

    def _pass_down(self) -> Process:
        below = self.stations[self.stations.index(self.station) + 1]
        yield from self._change_to(below, self.station.bottom_m + HANGING_BELOW_M)

    def _pass_up(self) -> Process:
        above = self.stations[self.stations.index(self.station) - 1]
        yield from self._change_to(above, self.station.top_m)

    def _change_to(self, station: Station, depth_m: float) -> Process:
        """Pass a fixed point: the weight leaves one section and hangs on the next."""
        self.say("begins", f"pass to {station.name}")
        yield from self.hang(PASSING_S)
        yield from self.hang_off()
        self.station = station
        yield from self.make(load(station.line, depth_m))
        self.say("ends", f"pass to {station.name}")

    def _has_station_above(self) -> bool:
        return self.stations.index(self.station) > 0

    def _station_at(self, depth_m: float) -> Station:
        fitting = [s for s in self.stations if s.top_m <= depth_m <= s.bottom_m]
        return fitting[-1] if fitting else self.stations[0]
