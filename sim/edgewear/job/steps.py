"""One class a step: what a person does at that point of the job."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from edgewear.job.line import Process
from edgewear.job.moves import Move, ticks
from edgewear.job.worker import Worker
from edgewear.layout import Kind


class Step(Protocol):
    """A step of the job, made by one person."""

    def perform(self, worker: Worker) -> Process:
        """Do it; an interrupt leaves the step where it is."""
        ...


@dataclass(frozen=True)
class CrossEdge:
    """Go over an edge: hang on below it and take the time it takes."""

    edge: str
    depth_m: float  # where the person hangs afterwards
    duration_s: float

    def perform(self, worker: Worker) -> Process:
        yield from worker.hang_on(self.depth_m)
        yield from worker.hang(self.duration_s)


@dataclass(frozen=True)
class HangOn:
    """Hang on at a depth; what a job starts with when no edge is crossed first."""

    depth_m: float

    def perform(self, worker: Worker) -> Process:
        yield from worker.hang_on(self.depth_m)


@dataclass(frozen=True)
class Ascend:
    """Climb a height."""

    height_m: float
    technique: str | None = None

    def perform(self, worker: Worker) -> Process:
        yield from worker.ascend(self.height_m, self.technique)


@dataclass(frozen=True)
class Descend:
    """Go down a length, with stops."""

    length_m: float
    technique: str | None = None

    def perform(self, worker: Worker) -> Process:
        yield from worker.descend(self.length_m, self.technique)


@dataclass(frozen=True)
class LowerUnloaded:
    """Be taken back down with no load on the rope."""

    length_m: float

    def perform(self, worker: Worker) -> Process:
        depth_m = worker.depth_m + self.length_m
        yield from worker.hang_off()
        yield from worker.hang_on(depth_m)


@dataclass(frozen=True)
class WorkInPlace:
    """Work where one hangs: bounce, sway and the reaction of a tool."""

    duration_s: float
    bounce_m: float
    bounce_hz: float
    sway_m: float
    sway_hz: float
    tool_n: float

    def perform(self, worker: Worker) -> Process:
        move = Move(
            Kind.WORK, worker.station.line, duration_ticks=ticks(self.duration_s),
            bounce_m=self.bounce_m, bounce_hz=self.bounce_hz, sway_m=self.sway_m,
            sway_hz=self.sway_hz, tool_n=self.tool_n,
        )  # fmt: skip
        yield from worker.make(move)


@dataclass(frozen=True)
class Rest:
    """Hang still."""

    duration_s: float

    def perform(self, worker: Worker) -> Process:
        yield from worker.hang(self.duration_s)


@dataclass(frozen=True)
class Inspect:
    """The rope is looked at; nobody moves meanwhile."""

    by: str
    duration_s: float

    def perform(self, worker: Worker) -> Process:
        yield from worker.hang(self.duration_s)
        worker.say("inspected", self.by)


@dataclass(frozen=True)
class Feed:
    """The anchor end moves rope over the edges: a machine's cycles, a haul, a lower, a shift.

    `length_m` above 0 takes rope in, below 0 lets it out; 0 cycles: once, one way.
    """

    length_m: float
    speed_m_s: float
    stop_s: float
    cycles: int = 0
    mass_kg: float = 0.0

    def perform(self, worker: Worker) -> Process:
        line = worker.station.line
        if self.mass_kg:
            yield from worker.make(Move(Kind.LOAD, line, 0, 0.0, worker.depth_m, self.mass_kg))
        move = Move(
            Kind.FEED, line, length_m=self.length_m, speed_m_s=self.speed_m_s,
            stop_s=self.stop_s, cycles=self.cycles,
        )  # fmt: skip
        yield from worker.make(move)


@dataclass(frozen=True)
class Repeat:
    """A few steps, several times."""

    times: int
    steps: tuple[Step, ...]

    def perform(self, worker: Worker) -> Process:
        for _ in range(self.times):
            for step in self.steps:
                yield from step.perform(worker)
