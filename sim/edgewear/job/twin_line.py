"""Working and safety line loaded together: each bears half, and both make every movement."""

from __future__ import annotations

from collections.abc import Generator, Mapping, Sequence
from typing import Any

import simpy

from edgewear import codes
from edgewear.job.line import Line, Outcome
from edgewear.job.moves import Move
from edgewear.job.worker import Station


class TwinLine:
    """Two lines as one: a movement is made on both, and lasts as long as the slower one.

    Each line is computed under half the mass; that they stretch alike is not enforced.
    """

    def __init__(
        self,
        env: simpy.Environment,
        working: Line,
        safety: Line,
        stations: Sequence[Station],
        mass_kg: float,
    ) -> None:
        """Nothing hangs on either.

        Parameters:
            stations: of the safety line.
            mass_kg: of the person alone.
        """
        self.env, self.working, self.safety = env, working, safety
        self.stations, self.mass_kg = tuple(stations), mass_kg
        self.second = self.stations[0].line  # section of the safety line in use

    def advance(self, move: Move) -> Generator[simpy.Event, Any, Outcome]:
        """Make a movement on both lines; an interrupt cuts it on both."""
        if move.kind in (codes.LOAD, codes.DROP):
            move = move._replace(mass_kg=0.5 * (move.mass_kg or self.mass_kg))
            self.second = self._section(move.depth_m)
        move = move._replace(tool_n=0.5 * move.tool_n)
        other = self.env.process(self._alongside(move._replace(line=self.second)))
        try:
            outcome: Outcome = yield from self.working.advance(move)
            if other.is_alive:
                yield other
        except simpy.Interrupt:
            if other.is_alive:
                other.interrupt("cut with the working line")
            raise
        return outcome

    def rest_of(self, move: Move, made_ticks: int) -> Move | None:
        """What is left of a movement, by the working line."""
        return self.working.rest_of(move, made_ticks)

    def depth_m(self, line: int) -> float:
        """Depth of the person by the working line [m]."""
        return self.working.depth_m(line)

    def edit(self, line: int, variants: Mapping[int, int]) -> None:
        """Give edges of the working line other numbers."""
        self.working.edit(line, variants)

    def demand(self, line: int, least: float = 0.0) -> Mapping[str, float]:
        """Sheath demand along the working line, by edge."""
        return self.working.demand(line, least)

    def slid_m(self, line: int, edge: int) -> float:
        """Sliding path at an edge of the working line [m]."""
        return self.working.slid_m(line, edge)

    def energy_j(self, line: int, edge: int) -> float:
        """Friction energy at an edge of the working line [J]."""
        return self.working.energy_j(line, edge)

    def _alongside(self, move: Move) -> Generator[simpy.Event, Any, None]:
        try:
            yield from self.safety.advance(move)
        except simpy.Interrupt:
            return

    def _section(self, depth_m: float) -> int:
        fitting = [s for s in self.stations if s.top_m <= depth_m <= s.bottom_m]
        return (fitting or self.stations)[-1].line
