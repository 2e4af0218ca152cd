"""What the job needs of a line: somebody who makes movements and says how they ended."""

from __future__ import annotations

from collections.abc import Generator, Mapping
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
    strokes: int = 0  # begun in it
    full: bool = False  # the rope was used up before the movement was made


class Line(Protocol):
    """One rope of a person; the engine implements it, tests fake it."""

    def advance(self, move: Move) -> Generator[simpy.Event, Any, Outcome]:
        """Make a movement; an interrupt cuts it at that tick and is raised again."""
        ...

    def rest_of(self, move: Move, made_ticks: int) -> Move | None:
        """What is left of a movement that was cut after so many ticks; None: nothing."""
        ...

    def depth_m(self, line: int) -> float:
        """Depth of the person on a section now [m]."""
        ...

    def edit(self, line: int, variants: Mapping[int, int]) -> None:
        """Give edges other numbers (edge -> variant) from now on, also amid a movement."""
        ...

    def demand(self, line: int, least: float = 0.0) -> Mapping[str, float]:
        """Largest sheath demand from each edge of a section as it is now [1].

        Parameters:
            least: where it is smaller, anything from there up to this will do.
        """
        ...

    def slid_m(self, line: int, edge: int) -> float:
        """Sliding path at an edge of a section so far [m]."""
        ...

    def energy_j(self, line: int, edge: int) -> float:
        """Friction energy at an edge of a section so far [J]."""
        ...
