"""A job without physics: movements take as long as their numbers say."""

from __future__ import annotations

from collections.abc import Generator, Mapping
from types import SimpleNamespace
from typing import Any

import simpy

from edgewear.case import Pattern
from edgewear.job.account import Habits
from edgewear.job.job import Job
from edgewear.job.line import Outcome
from edgewear.job.log import Log
from edgewear.job.moves import Move, ticks
from edgewear.job.site import Site
from edgewear.job.worker import Station, Worker
from edgewear.layout import Kind
from edgewear.terms import WORKING

SECOND = 10_000  # ticks
PLAIN = Station(0, "line", 0.0, float("inf"))
GONE = 1e-9  # a share of a movement this small is none


class FakeLine:
    """Notes every movement with the tick it began at, and how much of it was made."""

    def __init__(self, env: simpy.Environment) -> None:
        self.env = env
        self.now_m = 0.0
        self.made: list[tuple[int, str, float]] = []
        self.moves: list[tuple[Move, float]] = []
        self.edits: list[tuple[int, int, int]] = []
        self.busy = False
        self.wear: dict[str, float] = {}
        self.slid: dict[tuple[int, int], float] = {}

    def advance(self, move: Move) -> Generator[simpy.Event, Any, Outcome]:
        assert not self.busy, "two movements at once on one line"
        start, total = int(self.env.now), self._ticks(move)
        share, self.busy = 1.0, True
        try:
            yield self.env.timeout(total)
        except simpy.Interrupt:
            share = (int(self.env.now) - start) / total if total else 0.0
            raise
        finally:
            self.busy = False
            self.made.append((start, Kind(move.kind).name, share))
            self.moves.append((move, share))
            self._shift(move, share)
        return Outcome(total, self.now_m)

    def rest_of(self, move: Move, made_ticks: int) -> Move | None:
        if made_ticks <= 0:
            return move
        if move.kind in (Kind.HOLD, Kind.WORK):
            left = move.duration_ticks - made_ticks
            return move._replace(duration_ticks=left) if left > 0 else None
        left_m = move.length_m * (1.0 - made_ticks / self._ticks(move))
        return move._replace(length_m=left_m) if abs(left_m) > GONE else None

    def depth_m(self, line: int) -> float:
        return self.now_m

    def edit(self, line: int, variants: Mapping[int, int]) -> None:
        self.edits += [(line, edge, variant) for edge, variant in variants.items()]

    def demand(self, line: int, least: float = 0.0) -> dict[str, float]:
        return self.wear

    def slid_m(self, line: int, edge: int) -> float:
        return self.slid.get((line, edge), 0.0)

    def energy_j(self, line: int, edge: int) -> float:
        return 0.0

    def _ticks(self, move: Move) -> int:
        if move.kind == Kind.STROKES:
            cycle_s = move.rise_s + move.drop_s + move.pause_s
            return ticks(move.length_m / move.rise_m * cycle_s)
        if move.kind in (Kind.PAYOUT, Kind.FEED):
            return ticks(abs(move.length_m) / move.speed_m_s)
        return move.duration_ticks

    def _shift(self, move: Move, share: float) -> None:
        if move.kind == Kind.LOAD:
            self.now_m = move.depth_m
        sign = {Kind.STROKES: -1.0, Kind.PAYOUT: 1.0, Kind.FEED: -1.0}.get(Kind(move.kind), 0.0)
        self.now_m += sign * share * move.length_m


def case(*names: str) -> SimpleNamespace:
    patterns = tuple(
        Pattern(k, "normal", 0.4, 0.05, 1.0, 0.4, 0.6, 0.5, 0.5, 5.0) for k in range(len(names))
    )
    return SimpleNamespace(
        option="o", person_names=names, patterns=patterns, pattern=lambda p, t, s="": p,
        conditions=(), fallbacks=(), edge_names=(), line_names=(),
        rigged=SimpleNamespace(sections=()),
    )  # fmt: skip


class Stage:
    """Some people, each on a line of their own, and what happens when they start."""

    def __init__(self, *names: str, stations=(PLAIN,), reactions=None, kit=None) -> None:
        self.env, self.log = simpy.Environment(), Log()
        self.case = case(*names)
        scenario = SimpleNamespace(
            options={"o": None},
            kit=kit or {},
            at_hand=(kit or {}).get,
            edges={},
            path="",
            source="",
            protections={},
        )
        self.site = Site(self.env, scenario, self.case, {})
        self.job = Job(self.env, self.log, self.site, reactions)
        self.lines = {name: FakeLine(self.env) for name in names}
        self.workers = {
            name: Worker(
                self.env, self.case, k, {WORKING: stations}, {WORKING: self.lines[name]},
                self.log, Habits("normal"),
            )
            for k, name in enumerate(names)
        }  # fmt: skip

    def start(self, name: str, *steps, shift=None) -> None:
        plan = [(type(step).__name__, step) for step in steps]
        self.job.start(self.workers[name], plan, shift)

    def told(self, *what: str) -> list[tuple[int, str, str]]:
        return [(e.tick, e.who, e.what) for e in self.log.entries if not what or e.what in what]
