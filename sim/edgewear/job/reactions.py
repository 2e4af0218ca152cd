"""What people do when something is seen: stop, re-rig, swap the rope, retreat, call the rescue."""

from __future__ import annotations

from collections.abc import Generator, Mapping
from typing import Any, NamedTuple, Protocol

import simpy

from edgewear.job.chance import Chance
from edgewear.job.detection import Detection
from edgewear.job.line import Process
from edgewear.job.log import Kind, Log
from edgewear.job.moves import ticks
from edgewear.job.site import ATTENDANT, NEVER, Site
from edgewear.job.steps.ropes import swap_rope
from edgewear.job.travel import ascend
from edgewear.job.worker import Halt, HaltedError, Pause, Worker
from edgewear.scenario.models.scenario import Reaction
from edgewear.scenario.text.quantities import Measured
from edgewear.terms import SAFETY, WORKING

NOBODY = "nobody"
"""Who sees what nobody sees, in the log."""

STOP, CARRY_ON, RE_RIG = "stop", "carry on", "re-rig"
SWAP, RETREAT, CALL = "swap rope", "retreat on safety line", "call rescue"

RESCUE_CALLED = "rescue called"
"""Event that follows a call for rescue."""

CALLING = Measured(
    value=5.0, low=2.0, high=20.0, unit="s", typed="5 s", basis="assumed",
    distribution="lognormal", pedigree="assumed",
)  # fmt: skip
"""From a call at the edge until it has reached those on the ropes."""


class Seen(NamedTuple):
    """Something that asks for a reaction."""

    what: str
    line: str  # name of the line concerned; "": none
    step: int
    edge: str = ""
    by: str = ""  # who has seen it already; "": nobody yet


class Running(Protocol):
    """What reactions need of the job that runs."""

    env: simpy.Environment
    log: Log
    site: Site
    chance: Chance
    detection: Detection | None
    late_ticks: int

    def interrupt(self, worker: Worker, what: Pause | Halt) -> None:
        """Tell somebody to pause or stop."""


class Reactions:
    """The scenario's `when`, carried out on the clock.

    A reaction given as a word alone happens at once, for whoever plans without delays; one given
    as a model needs somebody who sees, and takes time.
    """

    def __init__(self, job: Running, when: Mapping[str, str | Reaction], strict: bool) -> None:
        """Know what to do.

        Parameters:
            strict: where nobody can see something, nobody reacts to it; else the scenario's
                reaction takes place all the same, and the log says that nobody saw.
        """
        self.job, self.when, self.strict = job, dict(when), strict

    def answers(self, what: str) -> bool:
        """Tell whether something is done when this happens."""
        found = self.when.get(what)
        return found is not None and (found if isinstance(found, str) else found.do) != CARRY_ON

    def to(self, seen: Seen) -> None:
        """React to something, if the scenario says so."""
        found = self.when.get(seen.what)
        if found is None or not self.answers(seen.what):
            if self.strict and seen.edge and not seen.by:
                self.job.env.process(self._only_see(seen))
        elif isinstance(found, str):
            self.job.env.process(self._at_once(seen, found))
        else:
            self.job.env.process(self._in_time(seen, found))

    def _at_once(self, seen: Seen, do: str) -> Process:
        """A process of its own, because nobody can interrupt themself in mid-movement."""
        self._do(seen, do, "")
        yield from ()

    def _only_see(self, seen: Seen) -> Process:
        """Note who sees something that nothing is done about."""
        by = yield from self._looked(seen, None)
        if by:
            self._note(by, Kind.SEES, seen, f"{seen.what} at {seen.edge}")

    def _in_time(self, seen: Seen, reaction: Reaction) -> Process:
        job, by = self.job, seen.by
        if not by:
            by = yield from self._looked(seen, reaction)
            if not by and self.strict:
                self._note(NOBODY, Kind.UNSEEN, seen, seen.what)
                return
            what = f"{seen.what} at {seen.edge}" if seen.edge else seen.what
            self._note(by or NOBODY, Kind.SEES if by else Kind.UNSEEN, seen, what)
        if self._called(seen, by) and job.site.heard_from == NEVER:
            self._note(by or NOBODY, Kind.UNHEARD, seen, reaction.do)
            return
        yield job.env.timeout(ticks(self._acting_s(seen, reaction, by)) + job.late_ticks)
        if self._called(seen, by) and job.site.heard_from > int(job.env.now):
            yield job.env.timeout(job.site.heard_from - int(job.env.now))
        if self._able(by):
            self._note(by or "the procedure", Kind.CALLS, seen, reaction.do)
            self._do(seen, reaction.do, by)

    def _note(self, who: str, kind: Kind, seen: Seen, what: str) -> None:
        self.job.log.add(int(self.job.env.now), who, kind, seen.step, what)

    def _looked(self, seen: Seen, reaction: Reaction | None) -> Generator[simpy.Event, Any, str]:
        """Wait until somebody has seen it, who is still able to tell; "": nobody does."""
        while True:
            by, delay_s = self._observer(seen, reaction)
            yield self.job.env.timeout(ticks(delay_s))
            if self._able(by):
                return by

    def _able(self, who: str) -> bool:
        """Tell whether somebody is alive and responsive, if they are on the ropes."""
        worker = self.job.site.workers.get(who)
        return worker is None or worker.able

    def _observer(self, seen: Seen, reaction: Reaction | None) -> tuple[str, float]:
        """Who sees it first, of those who are able, and after what time [s]."""
        owner, asked = self._owner(seen), None if reaction is None else reaction.by
        if reaction is not None and seen.what == "parted" and owner is not None and owner.able:
            return owner.name, 0.0
        detection = self.job.detection
        if detection is None or not seen.edge:
            return (asked, 0.0) if asked and self._able(asked) else ("", 0.0)
        return detection.first(seen.what, seen.edge, asked, seen.line)

    def _acting_s(self, seen: Seen, reaction: Reaction, by: str) -> float:
        """From seeing to those on the ropes acting on it; never nothing."""
        chance, name = self.job.chance, f"{seen.what} {seen.line} {seen.edge}"
        own_s = chance.value(f"delay {name}", reaction.delay)
        react_s = own_s or chance.value(f"react {name}", self.job.site.scenario.times.react)
        calling = getattr(self.job.site.scenario.times, "call", CALLING)
        called = self._called(seen, by)
        return react_s + (chance.value(f"call {name}", calling) if called else 0.0)

    def _called(self, seen: Seen, by: str) -> bool:
        """Tell whether whoever sees it has to call those who act on it."""
        return by == ATTENDANT or by != getattr(self._owner(seen), "name", by)

    def _do(self, seen: Seen, do: str, by: str) -> None:
        owner = self._owner(seen)
        concerned = [owner] if owner is not None else list(self.job.site.workers.values())
        if do == STOP:
            self._tell(self.job.site.workers.values(), Halt(seen.what))
        elif do == CALL:
            self.job.site.raise_event(RESCUE_CALLED)
            self._tell(concerned, Halt(f"{seen.what}: waits for rescue"))
        elif do == RETREAT:
            self._tell(concerned, Pause(f"{seen.what}: {RETREAT}", retreat))
        elif do == SWAP:
            self._tell(concerned, Pause(f"{seen.what}: {SWAP}", self._swap))
        elif do == RE_RIG:
            self.job.env.process(self._re_rig(seen, by))

    def _tell(self, workers: object, what: Pause | Halt) -> None:
        for worker in list(workers):  # type: ignore[call-overload]
            self.job.interrupt(worker, what)

    def _swap(self, worker: Worker) -> Process:
        usual = self.job.site.scenario.times.swap_rope
        lasting_s = self.job.chance.value(f"swapping the rope of {worker.name}", usual)
        yield from swap_rope(worker, lasting_s)

    def _re_rig(self, seen: Seen, by: str) -> Process:
        """Everybody hangs still while protection is put back where it belongs."""
        job, done = self.job, self.job.env.event()

        def stand_by(worker: Worker) -> Process:
            yield from worker.wait(done, "the edge to be rigged again")

        self._tell(job.site.workers.values(), Pause(f"{seen.what}: {RE_RIG}", stand_by))
        usual = job.site.scenario.times.place_protection
        yield job.env.timeout(ticks(job.chance.value(f"rigging {seen.edge} again", usual)))
        for edge in [seen.edge] if seen.edge else list(job.site.scenario.edges):
            if job.site.missing(edge):
                job.site.refit(edge)
                job.log.add(int(job.env.now), by or ATTENDANT, Kind.RIGGED_AGAIN, seen.step, edge)
        done.succeed()

    def _owner(self, seen: Seen) -> Worker | None:
        for worker in self.job.site.workers.values():
            names = {s.name for found in worker.stations.values() for s in found}
            if seen.line in names:
                return worker
        return None


def retreat(worker: Worker) -> Process:
    """Go back to where one started, on the safety line.

    Raises:
        HaltedError: always: the plan ends there.
    """
    if worker.role == WORKING and WORKING in worker.lost:
        yield from worker.fall()
    elif worker.role == WORKING and SAFETY in worker.lines:
        yield from worker.change_line(SAFETY)
    if worker.hanging:
        yield from ascend(worker, worker.depth_m - worker.start_m)
    worker.back = True
    worker.say(Kind.RETREATED, worker.station.name, worker.depth_m)
    raise HaltedError(RETREAT)
