"""What every step of a job is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from edgewear.job.line import Process
from edgewear.job.log import Kind
from edgewear.job.site import Site
from edgewear.job.worker import Worker


class Step(Protocol):
    """A step of the job, made by one person."""

    def perform(self, worker: Worker, site: Site) -> Process:
        """Do it; an interrupt leaves the step where it is."""
        ...


@dataclass(frozen=True)
class Repeat:
    """A few steps, several times."""

    times: int
    steps: tuple[Step, ...]
    words: tuple[str, ...] = ()  # of the steps; none are said of those that tests make

    def perform(self, worker: Worker, site: Site) -> Process:
        told = self.words or ("",) * len(self.steps)
        for _ in range(self.times):
            for step, words in zip(self.steps, told, strict=True):
                if isinstance(step, Repeat):  # which tells of its own
                    yield from step.perform(worker, site)
                    continue
                worker.tell_inside(worker)
                yield from step.perform(worker, site)
                worker.say(Kind.MADE, words, worker.hangs_at_m)
                worker.inside += 1
