"""A line without physics: movements take as long as their numbers say."""

from __future__ import annotations

from collections.abc import Generator
from typing import Any

import simpy

from edgewear.job.line import Outcome
from edgewear.job.moves import Move, ticks
from edgewear.layout import Kind


class FakeLine:
    """Notes every movement with the tick it began at, and how much of it was made."""

    def __init__(self, env: simpy.Environment) -> None:
        self.env = env
        self.depth_m = 0.0
        self.made: list[tuple[int, str, float]] = []

    def advance(self, move: Move) -> Generator[simpy.Event, Any, Outcome]:
        start, total = int(self.env.now), self._ticks(move)
        share = 1.0
        try:
            yield self.env.timeout(total)
        except simpy.Interrupt:
            share = (int(self.env.now) - start) / total
            raise
        finally:
            self.made.append((start, Kind(move.kind).name, share))
            self._shift(move, share)
        return Outcome(total, self.depth_m)

    def _ticks(self, move: Move) -> int:
        if move.kind == Kind.STROKES:
            cycle_s = move.rise_s + move.drop_s + move.pause_s
            return ticks(move.length_m / move.rise_m * cycle_s)
        if move.kind == Kind.PAYOUT:
            return ticks(move.length_m / move.speed_m_s)
        return move.duration_ticks

    def _shift(self, move: Move, share: float) -> None:
        if move.kind == Kind.LOAD:
            self.depth_m = move.depth_m
        sign = {Kind.STROKES: -1.0, Kind.PAYOUT: 1.0}.get(Kind(move.kind), 0.0)
        self.depth_m += sign * share * move.length_m
