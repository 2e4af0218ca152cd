"""Steps on the person's own rope: up, down, sideways, over edges and past fixed points."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt

from edgewear import codes
from edgewear.job.line import Process
from edgewear.job.log import Kind
from edgewear.job.moves import Move, ticks
from edgewear.job.site import Site
from edgewear.job.travel import HANGING_BELOW_M, ascend, descend, pass_down, pass_up
from edgewear.job.worker import Worker
from edgewear.terms import GRAVITY_M_S2


@dataclass(frozen=True)
class CrossEdge:
    """Go over an edge: hang on below it and take the time it takes."""

    edge: str
    depth_m: float  # where the person hangs afterwards
    duration_s: float
    lifted: bool = False  # its protection, meanwhile

    def perform(self, worker: Worker, site: Site) -> Process:
        lifts = self.lifted and site.cover(self.edge) is not None
        if lifts:
            site.put(self.edge, None)
            worker.say(Kind.PROTECTION_LIFTED, self.edge)
        yield from worker.hang_on(self.depth_m)
        yield from worker.stay(self.duration_s)
        site.crossed.add(self.edge)
        if self.edge in site.not_refitted:
            site.put(self.edge, None)
            worker.say(Kind.PROTECTION_NOT_REFITTED, self.edge)
        elif lifts:
            site.refit(self.edge)
            worker.say(Kind.PROTECTION_REFITTED, self.edge)


@dataclass(frozen=True)
class HangOn:
    """Hang on at a depth."""

    depth_m: float

    def perform(self, worker: Worker, site: Site) -> Process:
        yield from worker.hang_on(self.depth_m)


@dataclass(frozen=True)
class Ascend:
    """Climb a height."""

    height_m: float
    technique: str | None = None
    system: str | None = None

    def perform(self, worker: Worker, site: Site) -> Process:
        yield from ascend(worker, self.height_m, self.technique, self.system)


@dataclass(frozen=True)
class Descend:
    """Go down a length, with stops."""

    length_m: float
    speed_m_s: float | None = None
    stop_every_m: float | None = None

    def perform(self, worker: Worker, site: Site) -> Process:
        yield from descend(worker, self.length_m, self.speed_m_s, self.stop_every_m)


@dataclass(frozen=True)
class LowerUnloaded:
    """Be taken back down with no load on the rope."""

    length_m: float

    def perform(self, worker: Worker, site: Site) -> Process:
        yield from worker.must_hang()
        depth_m = worker.depth_m + self.length_m
        yield from worker.hang_off()
        yield from worker.hang_on(depth_m)


@dataclass(frozen=True)
class WorkInPlace:
    """Work where one hangs: bounce, sway and the reaction of a tool, then hang still.

    The still share of the time comes last, so that wear is never seen later than it comes.
    """

    duration_s: float
    bounce_m: float
    bounce_hz: float
    sway_m: float
    sway_hz: float
    tool_n: float
    still_s: float = 0.0

    def perform(self, worker: Worker, site: Site) -> Process:
        yield from worker.must_hang()
        move = Move(
            codes.WORK, worker.station.line, duration_ticks=ticks(self.duration_s),
            bounce_m=self.bounce_m, bounce_hz=self.bounce_hz, sway_m=self.sway_m,
            sway_hz=self.sway_hz, tool_n=self.tool_n,
        )  # fmt: skip
        yield from worker.make(move)
        yield from worker.stay(self.still_s)


@dataclass(frozen=True)
class Swing:
    """Swing sideways and come back, as a pendulum below the last edge does."""

    by_m: float
    times: int
    edge_depth_m: float  # of the last edge above the person

    def perform(self, worker: Worker, site: Site) -> Process:
        yield from worker.must_hang()
        below_m = max(worker.depth_m - self.edge_depth_m, 0.5)
        rate_hz = sqrt(GRAVITY_M_S2 / below_m) / (2.0 * pi)
        move = Move(
            codes.WORK, worker.station.line, duration_ticks=ticks(self.times / rate_hz),
            sway_m=self.by_m, sway_hz=rate_hz, bounce_hz=rate_hz,
        )  # fmt: skip
        yield from worker.make(move)
        worker.say(Kind.SWUNG, "", self.by_m)


@dataclass(frozen=True)
class PassReAnchor:
    """Pass a fixed point of one's line, from either side."""

    anchor: str
    lasting_s: float | None = None  # None: as long as it usually takes

    def perform(self, worker: Worker, site: Site) -> Process:
        yield from worker.must_hang()
        below, here = worker.neighbour(1), worker.station
        if below is not None and below.anchor == self.anchor:
            left_m = here.bottom_m - worker.depth_m
            if left_m > 0:
                yield from descend(worker, left_m)
            yield from pass_down(worker, self.lasting_s)
        elif here.anchor == self.anchor and worker.depth_m - here.top_m <= 2 * HANGING_BELOW_M:
            yield from pass_up(worker, self.lasting_s)
        else:
            worker.say(Kind.HAS_PASSED, self.anchor)


@dataclass(frozen=True)
class PassDeviation:
    """Take the line out of a deviation, go by, and put it back."""

    anchor: str
    duration_s: float

    def perform(self, worker: Worker, site: Site) -> Process:
        yield from worker.stay(self.duration_s)
        worker.say(Kind.PASSES, self.anchor, worker.depth_m)
