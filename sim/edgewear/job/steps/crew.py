"""Steps between people: rest, looks at the rope, events, waits, and taking somebody over."""

from __future__ import annotations

from dataclasses import dataclass

from edgewear.job.line import Process
from edgewear.job.log import Kind
from edgewear.job.moves import unload
from edgewear.job.site import ATTENDANT, Site
from edgewear.job.worker import ImpossibleError, Worker
from edgewear.rigging import WITHIN_REACH_M


@dataclass(frozen=True)
class Rest:
    """Hang still."""

    duration_s: float

    def perform(self, worker: Worker, site: Site) -> Process:
        yield from worker.rest(self.duration_s)


@dataclass(frozen=True)
class Inspect:
    """The rope is looked at; the person whose step it is does not move meanwhile."""

    by: str
    duration_s: float
    from_edge: str | None = None
    lifted: bool = False

    def perform(self, worker: Worker, site: Site) -> Process:
        away = self.by == ATTENDANT and site.attendant_back > int(worker.env.now)
        looks = site.workers.get(self.by)
        unable = looks is not None and not looks.able
        if away or unable or site.skips_inspection(self.by, worker.name):
            worker.say(Kind.INSPECTION_SKIPPED, f"{self.by}, who is away" if away else self.by)
            return
        if self.by != ATTENDANT:
            yield from self._look(worker, site)
            return
        with site.attendant.request() as request:
            yield from worker.wait(request, f"the {ATTENDANT}")
            yield from self._look(worker, site)

    def _look(self, worker: Worker, site: Site) -> Process:
        yield from worker.stay(self.duration_s)
        worker.say(Kind.INSPECTED, self.by)
        if site.eyes is not None:
            site.eyes.look(worker, self.by, self.from_edge, self.lifted)


@dataclass(frozen=True)
class Event:
    """Say that something has happened, for others to wait for."""

    name: str

    def perform(self, worker: Worker, site: Site) -> Process:
        worker.say(Kind.EVENT, self.name)
        site.raise_event(self.name)
        site.tell(self.name, worker.name, worker.step)
        yield from ()


@dataclass(frozen=True)
class WaitFor:
    """Wait until something has happened."""

    name: str

    def perform(self, worker: Worker, site: Site) -> Process:
        if not site.happened(self.name):
            yield from worker.wait(site.event(self.name), f"event {self.name!r}")


@dataclass(frozen=True)
class TakeOver:
    """Take a second person onto one's own line: their weight leaves their own."""

    person: str
    duration_s: float

    def perform(self, worker: Worker, site: Site) -> Process:
        other = site.workers[self.person]
        yield from worker.must_hang()
        self._reach(worker, other)
        yield from worker.stay(self.duration_s)
        other.carried_by, other.hanging = worker, False
        yield from other.lend(unload(other.station.line), worker)
        worker.extra_kg += other.habits.mass_kg + other.extra_kg
        yield from worker.weigh_anew()
        worker.say(Kind.TAKES_OVER, self.person, worker.mass_kg)

    def _reach(self, worker: Worker, other: Worker) -> None:
        if other.fell:
            raise ImpossibleError(f"{self.person!r} has fallen")
        apart_m = abs(worker.depth_m - other.depth_m)
        if other.hanging and apart_m > WITHIN_REACH_M:
            worker.say(Kind.OUT_OF_REACH, self.person, apart_m)
            raise ImpossibleError(
                f"{worker.name!r} is {apart_m:.1f} m away from {self.person!r} here; "
                f"at most {WITHIN_REACH_M:g} m is within reach"
            )
