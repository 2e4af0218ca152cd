"""What the job needs of a line: somebody who makes movements and says how they ended."""

from __future__ import annotations

from collections.abc import Generator
from typing import Any, NamedTuple, Protocol

import simpy

from edgewear.job.moves import Move

Process = Generator[simpy.Event, Any, Any]
"""A SimPy process or a part of one."""


class Outcome(NamedTuple):
    """How a movement ended."""

    ticks: int  # it took
    depth_m: float  # of the person now
    parted: bool = False


class Line(Protocol):
    """The rope under one person; the engine implements it, tests fake it."""

    def advance(self, move: Move) -> Generator[simpy.Event, Any, Outcome]:
        """Make a movement; an interrupt cuts it at that tick and is raised again."""
        ...
