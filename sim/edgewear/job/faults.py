"""What goes wrong, each as a process of its own: its trigger, then what it does to the job."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from math import log
from typing import Any, NamedTuple

from simpy import Event, Interrupt

from edgewear import codes
from edgewear.job.build import station
from edgewear.job.job import Job
from edgewear.job.line import Process
from edgewear.job.log import Kind
from edgewear.job.moves import Move, drop, load, ticks, unload
from edgewear.job.reactions import Seen
from edgewear.job.site import NEVER
from edgewear.job.worker import SETTLES_S, Fall, Halt, Pause, Station, Worker
from edgewear.layout import TICK_S
from edgewear.rigging.laying import lay
from edgewear.scenario.models import faults as typed
from edgewear.scenario.models.scenario import Scenario
from edgewear.terms import SAFETY, WORKING

FROM_THE_START = (typed.WrongRope, typed.UnknownEdge, typed.StopperMissing)
"""Faults of the rigging itself: they are there before anybody starts, whatever triggers them."""

SLACK_AT_RE_ANCHOR_M = 0.5
"""Fall onto the rope above when a re-anchor gives way [m]; assumed."""

WIND_SWAY_M, WIND_HZ = 0.3, 0.3
"""How an unloaded rope swings in the wind; assumed."""

LEAST_ROPE_KG = 1.0
"""Mass of rope that hangs in the wind at least [kg]; assumed."""


class Injected(NamedTuple):
    """A fault with its name, and the step of a person it comes with."""

    name: str
    fault: typed.Fault
    person: str | None = None  # whose step `step` counts; None: anybody's
    step: int | None = None  # in place of the fault's own trigger
    tick: int | None = None  # in place of any trigger
    inside: int = 0  # of a step that is a repeat: how many steps of it have been made by then
    words: str = ""  # of the step inside, with its round; "": the repeat's beginning, or no repeat


class Faults:
    """Lets faults happen in a job."""

    def __init__(self, job: Job, scenario: Scenario) -> None:
        self.job, self.scenario = job, scenario
        self.site = job.site
        self.acts: dict[type, Callable[[Any], None]] = {
            typed.ProtectionDisplaced: self._bare,
            typed.ProtectionWornThrough: self._bare,
            typed.ProtectionNotRefitted: self._not_refitted,
            typed.SleeveOnWrongSide: self._bare,
            typed.RopeOffRoller: self._bare,
            typed.Weather: lambda f: self.site.weather(f.weather),
            typed.JerkyPerson: self._jerky,
            typed.HeavierPerson: lambda f: self._weigh(f.person, f.by.value),
            typed.SecondPerson: lambda f: self._weigh(f.person, f.mass.value),
            typed.InspectionSkipped: lambda f: self.site.skipped.add(f.person),
            typed.AttendantAway: self._away,
            typed.LateReaction: self._late,
            typed.AnchorFails: self._anchor,
            typed.DeviationFails: self._deviation,
            typed.FastDescent: self._fast,
            typed.RopeInWind: self._wind,
            typed.CasualtyUnresponsive: self._unresponsive,
            typed.DeviceJammed: self._stuck,
            typed.DeviceDropped: self._stuck,
            typed.CommunicationLost: self._silent,
        }

    def start(self, injected: Injected) -> None:
        """Let a fault wait for its trigger."""
        self.job.env.process(self._happen(injected))

    def _happen(self, injected: Injected) -> Process:
        fault, env = injected.fault, self.job.env
        yield from self._trigger(injected)
        delay = ticks(fault.delay.value) if injected.tick is None else 0
        if delay:
            yield env.timeout(delay)
        self.site.disturbed = True
        self.job.log.add(int(env.now), injected.name, Kind.FAULT, injected.step or 0, fault.fault)
        act = self.acts.get(type(fault))
        if act is not None:
            act(fault)
        self.site.raise_event(injected.name)
        edge = getattr(fault, "edge", "") or ""
        self.job.reactions.to(Seen(injected.name, "", injected.step or 0, edge))
        if edge and self.site.missing(edge):
            self.site.raise_event("protection displaced")
            self.job.reactions.to(Seen("protection displaced", "", injected.step or 0, edge))

    def _trigger(self, injected: Injected) -> Process:
        fault, env = injected.fault, self.job.env
        if injected.tick is not None:
            yield env.timeout(injected.tick)
        elif injected.step is not None:
            yield self._step(injected.person, injected.step, injected.inside)
        elif fault.after is not None:
            yield self.site.event(fault.after)
        elif fault.step is not None:
            yield self._step(getattr(fault, "person", None), fault.step)
        elif fault.at is not None:
            yield env.timeout(ticks(fault.at.value))
        elif fault.rate is not None and fault.rate.value > 0:
            share = self.job.chance.share(f"time of {injected.name}")
            yield env.timeout(ticks(-log(1.0 - share) / fault.rate.value))
        else:
            yield env.timeout(0)

    def _step(self, person: str | None, step: int, inside: int = 0) -> Event:
        if person in self.site.workers:
            return self.job.begins(str(person), step, inside)
        return self.job.env.any_of([self.job.begins(name, step) for name in self.site.workers])

    def _bare(self, fault: Any) -> None:  # any fault at an edge
        self.site.put(fault.edge, None)

    def _not_refitted(self, fault: typed.ProtectionNotRefitted) -> None:
        self.site.not_refitted.add(fault.edge)
        if fault.edge in self.site.crossed:
            self.site.put(fault.edge, None)

    def _jerky(self, fault: typed.JerkyPerson) -> None:
        worker = self.site.workers[fault.person]
        worker.technique = fault.technique
        self.job.interrupt(worker, Pause("moves otherwise from here on", _nothing))

    def _weigh(self, person: str, more_kg: float) -> None:
        worker = self.site.workers[person]
        worker.extra_kg += more_kg
        self.job.interrupt(
            worker, Pause(f"{more_kg:g} kg more on the line", Worker.weigh_anew, True)
        )

    def _away(self, fault: typed.AttendantAway) -> None:
        now = int(self.job.env.now)
        self.site.attendant_back = now + ticks(fault.for_.value) if fault.for_ else NEVER

    def _late(self, fault: typed.LateReaction) -> None:
        self.job.late_ticks += ticks(fault.by.value)

    def _fast(self, fault: typed.FastDescent) -> None:
        worker = self.site.workers[fault.person]
        worker.fastest_m_s = fault.speed.value
        self.job.interrupt(worker, Pause("descends faster from here on", _nothing))

    def _anchor(self, fault: typed.AnchorFails) -> None:
        for worker in self.site.workers.values():
            self._lose(worker, fault.anchor)

    def _lose(self, worker: Worker, anchor: str) -> None:
        """What hangs on an anchor falls onto what is left of it."""
        for role in (WORKING, SAFETY):
            mine = worker.stations.get(role, ())
            held = [s for s in mine if s.anchor == anchor]
            if not held:
                continue
            in_use = worker.role == role and worker.hanging and worker.station in held
            if above := self._rope_above(anchor, held[0].line):
                self._reroute(worker, held[0].line, above[0], anchor, SLACK_AT_RE_ANCHOR_M)
                continue
            first = held[0] == mine[0]
            fall: Fall = partial(_line_lost, anchor) if first else _onto_rope_above
            worker.gone[role, anchor] = fall
            if in_use:
                self.job.interrupt(worker, Pause(f"{anchor} gives way", fall, True))
            if not first:
                _leave_out(worker, role, held)

    def _deviation(self, fault: typed.DeviationFails) -> None:
        for anchor, row, instead in self.site.case.fallbacks:
            if anchor == fault.anchor:
                for worker in self.site.workers.values():
                    self._reroute(worker, row, instead, "the deviation", 0.0)

    def _rope_above(self, anchor: str, row: int) -> list[int]:
        """The section held ready for a re-anchor above which nobody hangs; none: there is none."""
        return [
            ready for name, old, ready in self.site.case.fallbacks if (name, old) == (anchor, row)
        ]

    def _reroute(self, worker: Worker, row: int, instead: int, what: str, loop_m: float) -> None:
        """The line falls back to the way it takes without its deviation or its first re-anchor."""
        for role, mine in worker.stations.items():
            new = station(self.site.case, instead)
            fresh = {s: new._replace(top_m=s.top_m, bottom_m=s.bottom_m) for s in mine}
            worker.stations[role] = tuple(fresh[s] if s.line == row else s for s in mine)
        if worker.station.line != row:
            return
        slack_m = loop_m + self._slack_m(row, instead, worker.depth_m)

        def fall(who: Worker) -> Process:
            yield from who.hang_off()
            yield from _drop_onto(who, station(self.site.case, instead), slack_m)

        if worker.hanging:
            self.job.interrupt(worker, Pause(f"{what} gives way", fall, True))
        else:
            mine = worker.stations[worker.role]
            worker.station = next(s for s in mine if s.line == instead)

    def _slack_m(self, row: int, instead: int, depth_m: float) -> float:
        """Rope that the fallen deviation held back [m]."""
        sections = self.site.case.rigged.sections
        lengths = [lay(sections[k], depth_m).length_m for k in (row, instead)]
        return max(lengths[0] - lengths[1], 0.0)

    def _wind(self, fault: typed.RopeInWind) -> None:
        worker = self.site.workers[fault.person]
        role = SAFETY if worker.on_their_line and worker.role == WORKING else WORKING
        if role in worker.lines:
            worker.wind[role] = self.job.env.process(self._in_wind(worker, role, fault))

    def _in_wind(self, worker: Worker, role: str, fault: typed.RopeInWind) -> Process:
        """The line nobody hangs on swings at its edges under the rope's own weight."""
        station, line = worker.stations[role][-1], worker.lines[role]
        depth_m = worker.depth_m if worker.hanging else worker.start_m + 5.0
        mass_kg = max(float(self.site.case.lines[station.line]["rope_kg_m"]) * 5.0, LEAST_ROPE_KG)
        swing = Move(
            codes.WORK, station.line, duration_ticks=ticks(fault.for_.value), sway_m=WIND_SWAY_M,
            sway_hz=WIND_HZ, bounce_hz=WIND_HZ,
        )  # fmt: skip
        try:
            for move in (load(station.line, depth_m, mass_kg), swing):
                yield from line.advance(move._replace(step=worker.step, person=worker.person))
        except Interrupt:
            self.job.log.add(int(self.job.env.now), worker.name, Kind.TAKES_THE_LINE, worker.step)
        yield from line.advance(
            unload(station.line)._replace(step=worker.step, person=worker.person)
        )

    def _stuck(self, fault: typed.DeviceJammed | typed.DeviceDropped) -> None:
        """Whose device serves no more hangs still, for a while or until somebody comes."""
        worker, lasting = self.site.workers[fault.person], fault.for_
        if lasting is None:
            self.job.interrupt(worker, Halt(f"{fault.fault}, hangs still"))
            return

        def put_right(who: Worker) -> Process:
            begun, hung = int(self.job.env.now), who.hanging
            yield from who.stay(lasting.value)
            if hung:
                still_s = (int(self.job.env.now) - begun) * TICK_S
                who.say(Kind.HUNG_STILL, fault.fault, still_s)

        self.job.interrupt(worker, Pause(fault.fault, put_right))

    def _silent(self, fault: typed.CommunicationLost) -> None:
        now = int(self.job.env.now)
        self.site.heard_from = now + ticks(fault.for_.value) if fault.for_ else NEVER

    def _unresponsive(self, fault: typed.CasualtyUnresponsive) -> None:
        self.site.workers[fault.person].unresponsive = True
        self.job.interrupt(self.site.workers[fault.person], Halt("unresponsive, hangs still"))


def _leave_out(worker: Worker, role: str, held: Sequence[Station]) -> None:
    """Take sections out of use; the one above each reaches down as far as they did."""
    left: list[Station] = []
    for mine in worker.stations[role]:
        if mine not in held:
            left.append(mine)
            continue
        if not left:  # the rope above the next fixed point is gone
            continue
        longer = left[-1]._replace(bottom_m=mine.bottom_m)
        if worker.station == left[-1]:
            worker.station = longer
        left[-1] = longer
    worker.stations[role] = tuple(left)


def _nothing(worker: Worker) -> Process:
    """The movement under way is cut and made otherwise from here on."""
    yield from ()


def _line_lost(anchor: str, worker: Worker) -> Process:
    """Nothing above a line's first fixed point, which gave way, holds it."""
    yield from worker.lose(f"{anchor} gives way")


def _onto_rope_above(worker: Worker) -> Process:
    """Fall onto the rope above a re-anchor that gave way, if what that hangs on still holds."""
    above = worker.station_at(worker.depth_m)
    if (worker.role, above.anchor) in worker.gone:
        worker.station = above
        yield from worker.trust()
        return
    yield from _drop_onto(worker, above, SLACK_AT_RE_ANCHOR_M)


def _drop_onto(worker: Worker, onto: Station, fall_m: float) -> Process:
    worker.station = onto
    yield from worker.make(drop(onto.line, worker.depth_m, fall_m, worker.mass_kg, SETTLES_S))
    worker.depth_m, worker.hanging = worker.line.depth_m(onto.line), True
    worker.say(Kind.CAUGHT, onto.name, worker.depth_m)
