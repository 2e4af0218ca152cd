"""Steps that move or change a rope as a whole: haul, lower, shift, swap, a machine's cycles."""

from __future__ import annotations

from dataclasses import dataclass

from edgewear.job.line import Process
from edgewear.job.log import Kind
from edgewear.job.moves import feed, load, swap
from edgewear.job.site import Site
from edgewear.job.travel import shift
from edgewear.job.worker import ImpossibleError, Worker
from edgewear.terms import SAFETY


@dataclass(frozen=True)
class Feed:
    """The anchor end moves rope over the edges: a machine's cycles, a haul, a lower.

    `length_m` above 0 takes rope in, below 0 lets it out; 0 cycles: once, one way.
    """

    length_m: float
    speed_m_s: float
    stop_s: float
    cycles: int = 0
    mass_kg: float = 0.0  # of a dead weight; 0: the person

    def perform(self, worker: Worker, site: Site) -> Process:
        yield from worker.must_hang()
        line, depth_m = worker.station.line, worker.depth_m
        if self.mass_kg:
            yield from worker.make(load(line, depth_m, self.mass_kg))
        yield from worker.make(feed(line, self.length_m, self.speed_m_s, self.stop_s, self.cycles))
        if not self.cycles:
            worker.depth_m = depth_m - self.length_m


@dataclass(frozen=True)
class Haul:
    """Raise (length above 0) or lower (below 0) somebody else from the top of their line."""

    person: str
    length_m: float
    speed_m_s: float
    stop_s: float

    def perform(self, worker: Worker, site: Site) -> Process:
        other = site.workers[self.person]
        if other.carried_by is not None:
            other = other.carried_by
        if not other.hanging:
            yield from self._load(worker, other)
        depth_m = other.depth_m
        move = feed(other.station.line, self.length_m, self.speed_m_s, self.stop_s)
        yield from other.lend(move, worker)
        other.depth_m = depth_m - self.length_m
        kind = Kind.HAULED if self.length_m > 0 else Kind.LOWERED
        worker.say(kind, self.person, abs(self.length_m))

    def _load(self, worker: Worker, other: Worker) -> Process:
        """Load the line of somebody who does not hang yet; who cannot act does not get on it."""
        if not other.able:
            raise ImpossibleError(f"{other.name!r} does not hang, and cannot get onto the line")
        yield from other.lend(load(other.station.line, other.start_m, other.mass_kg), worker)
        other.hanging = True
        other.say(Kind.HANGS_ON, other.station.name, other.depth_m)


@dataclass(frozen=True)
class ShiftRope:
    """Let rope through at the releasable anchor, so that a fresh place meets the edge."""

    by_m: float

    def perform(self, worker: Worker, site: Site) -> Process:
        yield from worker.must_hang()
        yield from shift(worker, self.by_m)


@dataclass(frozen=True)
class SwapRope:
    """Hang on the safety line while a fresh rope takes the place of the working line."""

    duration_s: float

    def perform(self, worker: Worker, site: Site) -> Process:
        yield from swap_rope(worker, self.duration_s)


def swap_rope(worker: Worker, duration_s: float) -> Process:
    """Replace every section of a person's working line by fresh rope."""
    home, hung, depth_m = worker.role, worker.hanging, worker.depth_m
    if hung and SAFETY in worker.lines:
        yield from worker.change_line(SAFETY)
    elif hung:
        yield from worker.hang_off()
    yield from worker.stay(duration_s)
    yield from worker.hang_off()
    worker.role = home
    for station in worker.stations[home]:
        yield from worker.make(swap(station.line))
    worker.lost.discard(home)
    worker.say(Kind.ROPE_SWAPPED, worker.stations[home][0].name)
    if hung:
        yield from worker.hang_on(depth_m)
