"""What every step of a job is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from edgewear.job.line import Process
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

    def perform(self, worker: Worker, site: Site) -> Process:
        for _ in range(self.times):
            for step in self.steps:
                yield from step.perform(worker, site)
