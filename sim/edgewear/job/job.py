"""A job run to its end: people side by side, reactions, one log."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import simpy

from edgewear.job.line import Process
from edgewear.job.log import Log
from edgewear.job.steps import Step
from edgewear.job.worker import Worker

Plan = Sequence[tuple[str, Step]]
"""Steps of one person in order, each with its words."""

STOP, CARRY_ON = "stop", "carry on"


class Job:
    """Workers with their plans on one clock.

    Events at equal times happen in the order in which their causes were scheduled, and people
    start in the order of the scenario; nothing depends on hashes or on the wall clock.
    """

    def __init__(
        self, env: simpy.Environment, log: Log, reactions: Mapping[str, str] | None = None
    ) -> None:
        self.env, self.log = env, log
        self.reactions = dict(reactions or {})
        self._doing: dict[str, simpy.Process] = {}

    def start(self, worker: Worker, plan: Plan) -> None:
        """Let a worker begin a plan."""
        self._doing[worker.name] = self.env.process(self._carry_out(worker, plan))

    def happened(
        self, what: str, who: str, step: int, detail: str = "", value: float = 0.0
    ) -> None:
        """Something became true on a line; react as the scenario says."""
        self.log.add(int(self.env.now), who, what, step, detail, value)
        if self.reactions.get(what, CARRY_ON) == STOP:
            self.env.process(self._interrupt_all(what))

    def run(self) -> None:
        """Run until nobody has anything left to do."""
        self.env.run()

    def _interrupt_all(self, what: str) -> Process:
        """A process of its own, because nobody can interrupt themself in mid-movement."""
        for process in self._doing.values():
            if process.is_alive:
                process.interrupt(what)
        yield self.env.timeout(0)

    def _carry_out(self, worker: Worker, plan: Plan) -> Process:
        try:
            for worker.step, (words, step) in enumerate(plan, start=1):
                worker.say("begins", words)
                yield from step.perform(worker)
                worker.say("ends", words)
        except simpy.Interrupt as stop:
            worker.say("stops", str(stop.cause))


Watch = Callable[[str, str, int, str, float], None]
"""Signature of `Job.happened`, as the engine calls it."""
