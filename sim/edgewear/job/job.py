"""A job run to its end: people side by side, reactions, faults, one log."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import inf

import simpy

from edgewear.errors import Deadlock, ScenarioError
from edgewear.job.chance import Chance, Nominal
from edgewear.job.detection import Detection
from edgewear.job.line import Process
from edgewear.job.log import Kind, Log
from edgewear.job.moves import Move, ticks
from edgewear.job.reactions import CARRY_ON, STOP, Reactions, Seen
from edgewear.job.site import Site
from edgewear.job.steps import Step
from edgewear.job.worker import Halt, HaltedError, ImpossibleError, Pause, Worker
from edgewear.scenario.models.people import Shifts
from edgewear.scenario.models.scenario import Reaction
from edgewear.scenario.read.reading import problems_at

__all__ = ["CARRY_ON", "STOP", "Job", "Plan"]

Plan = Sequence[tuple[str, Step]]
"""Steps of one person in order, each with its words."""


class Job:
    """Workers with their plans on one clock.

    Events at equal times happen in the order in which their causes were scheduled, and people
    start in the order of the scenario; nothing depends on hashes or on the wall clock.
    """

    def __init__(
        self,
        env: simpy.Environment,
        log: Log,
        site: Site,
        reactions: Mapping[str, str | Reaction] | None = None,
        chance: Chance | None = None,
        detection: Detection | None = None,
        strict: bool = False,
    ) -> None:
        """Nobody works yet.

        Parameters:
            reactions: trigger -> what is done; a word alone is done at once.
            detection: who sees what; None: whoever reacts sees at once.
            strict: what nobody can see, nobody reacts to.
        """
        self.env, self.log, self.site = env, log, site
        self.chance, self.detection = chance or Nominal(), detection
        self.reactions = Reactions(self, reactions or {}, strict)
        self.late_ticks = 0  # everybody reacts so much later
        site.tell, site.tell_seen, site.eyes = self._event, self._seen, detection
        self._doing: dict[str, simpy.Process] = {}
        self._begins: dict[tuple[str, int, int], simpy.Event] = {}
        self._begun_by: set[tuple[str, int, int]] = set()

    def start(self, worker: Worker, plan: Plan, shift: Shifts | None = None) -> None:
        """Let a worker begin a plan."""
        self.site.workers[worker.name] = worker
        worker.made, worker.answered = self._made, self.reactions.answers("parted")
        worker.tell_lost, worker.tell_inside = self._lost, self._begun
        self._doing[worker.name] = self.env.process(self._carry_out(worker, plan))
        if shift is not None:
            self.env.process(self._watch_hours(worker, shift))

    def happened(
        self, kind: Kind, who: str, step: int, detail: str = "", value: float = 0.0
    ) -> None:
        """Something became true on a line; react as the scenario says."""
        self.log.add(int(self.env.now), who, kind, step, detail, value)
        self.site.raise_event(kind.word)
        self.reactions.to(Seen(kind.word, who, step, detail))

    def interrupt(self, worker: Worker, what: Pause | Halt) -> None:
        """Tell somebody to pause or stop.

        Too late for those who have finished, but for what befalls whoever still hangs there.
        """
        process = self._doing[worker.name]
        if process.is_alive:
            process.interrupt(what)
        elif isinstance(what, Pause) and what.befalls and worker.hanging and not worker.back:
            self._doing[worker.name] = self.env.process(self._befalls(worker, what))

    def begins(self, person: str, step: int, inside: int = 0) -> simpy.Event:
        """What is triggered when a person begins a step for the first time, or has begun it.

        People begin before anybody waits for what they do: their first step has begun by then.

        Parameters: `inside`: how many steps of it, a repeat, have been made by then.
        """
        event = self._begins.setdefault((person, step, inside), self.env.event())
        if (person, step, inside) in self._begun_by and not event.triggered:
            event.succeed()
        return event

    def _begun(self, worker: Worker) -> None:
        """Somebody begins a step, or one inside a repeat: whoever waits for it is told."""
        at = worker.name, worker.step, worker.inside
        self._begun_by.add(at)
        event = self._begins.get(at)
        if event is not None and not event.triggered:
            event.succeed()

    def run(self) -> None:
        """Run until nobody has anything left to do.

        Raises:
            Deadlock: people wait for each other, or for kit nobody returns.
        """
        try:
            while doing := [one for one in self._doing.values() if one.is_alive]:
                self.env.run(until=self.env.all_of(doing))
        except RuntimeError as error:
            failed = error.__cause__ is not None  # what somebody did, not that nothing is left
            if failed or self.env.peek() < inf:
                raise
            self._stuck()
        workers = self.site.workers.values()
        ended = max((w.account.since for w in workers), default=0)
        for worker in workers:
            worker.account.close(ended)
        self.site.kit.pack_up()

    def _stuck(self) -> None:
        """Nothing can happen any more, and somebody still waits."""
        waiting = [w for n, w in self.site.workers.items() if self._doing[n].is_alive]
        if self.site.disturbed:
            for worker in waiting:
                worker.say(Kind.WAITS_IN_VAIN, worker.waits_for, worker.hangs_at_m)
            return
        way_out = "nothing in the plan brings it: let somebody's steps do so, or leave the wait out"
        found = [
            (f"job/{w.name}/{w.step}", f"{w.name} waits for ever for {w.waits_for}; {way_out}")
            for w in waiting
        ]
        raise Deadlock(problems_at(self.site.scenario, found))

    def _carry_out(self, worker: Worker, plan: Plan) -> Process:
        try:
            for worker.step, (words, step) in enumerate(plan, start=1):
                yield from self._step(worker, words, step)
        except HaltedError as end:
            if isinstance(end, ImpossibleError) and not self.site.disturbed:
                where = f"job/{worker.name}/{worker.step}"
                raise ScenarioError(problems_at(self.site.scenario, [(where, str(end))])) from end
            self.site.disturbed = True
            worker.say(Kind.STOPS, str(end), worker.hangs_at_m)
        except simpy.Interrupt as told:
            self.site.disturbed = True
            worker.say(Kind.STOPS, told.cause.why, worker.hangs_at_m)
        worker.account.close()
        worker.ended = True

    def _befalls(self, worker: Worker, what: Pause) -> Process:
        """Something happens to somebody who still hangs where their plan has ended."""
        try:
            yield from worker.heed(what)
        except HaltedError as end:
            worker.say(Kind.STOPS, str(end), worker.hangs_at_m)

    def _step(self, worker: Worker, words: str, step: Step) -> Process:
        worker.inside = 0
        worker.say(Kind.BEGINS, words)
        self._begun(worker)
        yield from step.perform(worker, self.site)
        worker.say(Kind.ENDS, words, worker.hangs_at_m)

    def _watch_hours(self, worker: Worker, shift: Shifts) -> Process:
        """Send somebody to their breaks, and home when their shift is over."""
        ends = ticks(shift.length.value)
        if shift.break_every is not None and shift.break_ is not None:
            every, lasting_s = ticks(shift.break_every.value), shift.break_.value

            def pause(person: Worker) -> Process:
                yield from person.rest(lasting_s)

            while int(self.env.now) + every < ends and self._doing[worker.name].is_alive:
                yield self.env.timeout(every)
                if not worker.waits_for:
                    self.interrupt(worker, Pause("break", pause))
                    yield self.env.timeout(ticks(lasting_s))
        left = ends - int(self.env.now)
        if left > 0:
            yield self.env.timeout(left)
        if not worker.waits_for:
            self.interrupt(worker, Halt("the shift is over"))

    def _event(self, what: str, who: str, step: int) -> None:
        self.reactions.to(Seen(what, "", step))

    def _lost(self, line: str, step: int) -> None:
        """A line that somebody hangs on holds no more, though it has not parted."""
        self.reactions.to(Seen("parted", line, step))

    def _seen(self, what: str, line: str, step: int, edge: str, by: str) -> None:
        self.site.raise_event(what)
        self.reactions.to(Seen(what, line, step, edge, by))

    def _made(self, worker: Worker, move: Move) -> None:
        """Protection that a movement has worn through or dragged off separates nothing any more."""
        for kind, edge, word in self.site.used_up(move):
            self.happened(kind, edge, worker.step, word)
