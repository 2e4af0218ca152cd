"""Steps at an edge: protection and bypass slings put there, taken off, looked at."""

from __future__ import annotations

from dataclasses import dataclass

from edgewear.job.line import Process
from edgewear.job.log import Kind
from edgewear.job.site import BYPASS, Site
from edgewear.job.worker import Worker


@dataclass(frozen=True)
class PlaceProtection:
    """Put protection on an edge, which is bare until then."""

    edge: str
    kind: str | None  # None: what the option names
    duration_s: float

    def perform(self, worker: Worker, site: Site) -> Process:
        meant = site.meant(self.edge, self.kind)
        for place in site.placed_by(self.edge, worker.name):
            if place in meant:
                yield from site.kit.take(worker, meant[place], site.use(place))
        yield from worker.stay(self.duration_s)
        site.fit(self.edge, worker.name, self.kind)
        worker.say(Kind.PROTECTION_PLACED, self.edge)


@dataclass(frozen=True)
class RemoveProtection:
    """Take protection off an edge."""

    edge: str
    duration_s: float

    def perform(self, worker: Worker, site: Site) -> Process:
        yield from worker.stay(self.duration_s)
        for place in site.placed_by(self.edge, worker.name):
            site.kit.give_back(site.word_at(place) or "", site.use(place))
        site.take_off(self.edge, worker.name)
        worker.say(Kind.PROTECTION_REMOVED, self.edge)


@dataclass(frozen=True)
class CheckProtection:
    """Look at an edge's protection and put it right."""

    edge: str
    duration_s: float

    def perform(self, worker: Worker, site: Site) -> Process:
        yield from worker.stay(self.duration_s)
        if site.missing(self.edge):
            worker.say(Kind.SEES, f"protection missing at {self.edge}")
            site.refit(self.edge)
            site.not_refitted.discard(self.edge)
        worker.say(Kind.PROTECTION_CHECKED, self.edge)


@dataclass(frozen=True)
class FixBypassSling:
    """Clamp a sling to one's line above and below an edge, so that it carries the load."""

    edge: str
    sling: str  # its kind
    duration_s: float

    def perform(self, worker: Worker, site: Site) -> Process:
        yield from site.kit.take(worker, self.sling, self.edge)
        yield from worker.stay(self.duration_s)
        for place in site.places(self.edge):
            if place.row in {s.line for s in worker.stations[worker.role]}:
                site.put(self.edge, BYPASS, place)
        worker.say(Kind.SLING_FIXED, self.edge)


@dataclass(frozen=True)
class RemoveBypassSling:
    """Take the sling off again; the rope bears the load at the edge as before."""

    edge: str
    sling: str
    duration_s: float

    def perform(self, worker: Worker, site: Site) -> Process:
        yield from worker.stay(self.duration_s)
        for place in site.places(self.edge):
            if site.word_at(place) == BYPASS:
                site.refit(self.edge, place)
        site.kit.give_back(self.sling, self.edge)
        worker.say(Kind.SLING_REMOVED, self.edge)
