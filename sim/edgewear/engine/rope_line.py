"""Joins time to physics: a line on the job's clock.

A movement goes to the kernel whole, in one call, before its time has passed. If somebody
interrupts it, the line is taken back to where that call began and made again up to that tick.
So no step depends on what else is going on, and a movement that nobody interrupts is bit for
bit the one that a recorded tape replays. An edge that changes during a movement changes on the
last step of the movement not past that tick, live and in a replay alike.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Mapping
from typing import Any

import numpy as np
import simpy

from edgewear import codes
from edgewear.case import Records
from edgewear.engine.player import Player
from edgewear.engine.snapshot import Snapshot
from edgewear.job.line import Outcome
from edgewear.job.log import Kind
from edgewear.job.moves import Move
from edgewear.layout import MOVEMENT

Happened = Callable[[Kind, str, int, str, float], None]
"""(what, who, step, detail, value): told when something becomes true on a line."""

ENDS = codes.DONE | codes.FULL | codes.PARTED
"""Statuses after which a movement has nothing left to make."""

TOLD = {codes.CORE_VISIBLE: Kind.CORE_VISIBLE, codes.PARTED: Kind.PARTED}
"""Statuses the job hears of."""


class UnderWay:
    """A movement that the kernel has made and the clock has not."""

    def __init__(self, movement: Records, start: int, first: bool, kept: Snapshot) -> None:
        self.movement, self.start, self.kept = movement, start, kept
        self.first = first  # of its section: nothing has moved there before
        self.status = 0
        self.ahead = 0  # what was met while catching up, and is still to be told
        self.due: simpy.Event | None = None  # what the person waits for
        self.round = 0  # of plans for when the person goes on; only the last one counts


class RopeLine:
    """A person's line: makes movements, keeps the tape, says what became true."""

    def __init__(
        self,
        env: simpy.Environment,
        player: Player,
        tape: list[Records],
        happened: Happened,
        parts: bool = True,
    ) -> None:
        self.env, self.player, self.tape, self.happened = env, player, tape, happened
        self.armed = codes.CORE_VISIBLE | codes.PARTED if parts else 0
        self._under_way: UnderWay | None = None
        self._ended = 0

    def advance(self, move: Move) -> Generator[simpy.Event, Any, Outcome]:
        """Make a movement; an interrupt cuts it at that tick and is raised again."""
        start = int(self.env.now)
        if move.kind == codes.SWAP:
            return self._swap(move, start)
        movement = np.array([move], MOVEMENT)
        movement["idle_ticks"] = start - self._ended
        first = move.line not in self.player.in_use
        self._under_way = UnderWay(movement, start, first, self.player.snapshot(move.line))
        try:
            status = yield from self._wait(self._under_way)
        except simpy.Interrupt:
            self._cut(self._under_way)
            raise
        finally:
            self._ended, self._under_way = int(self.env.now), None
        self.tape.append(movement)
        parted, full = bool(status & codes.PARTED), bool(status & codes.FULL)
        state, ended = self.player.state(move.line), self._ended - start
        strokes = int(state["stroke"][0]) if move.kind == codes.STROKES else 0
        return Outcome(ended, float(state["depth_m"][0]), parted, strokes, full)

    def edit(self, line: int, variants: Mapping[int, int]) -> None:
        """Give edges other numbers (edge -> variant) from now on, also amid a movement."""
        at = self._catch_up(line)
        for edge, variant in variants.items():
            record = np.zeros(1, MOVEMENT)
            record["kind"], record["line"], record["at_ticks"] = codes.EDIT, line, at
            record["edge"], record["variant"] = edge, variant
            self.tape.append(record)
            self.player.edit(line, edge, variant)
        self._go_on(line)

    def demand(self, line: int, least: float = 0.0) -> Mapping[str, float]:
        """Largest sheath demand from each edge as it is now [1]; an edge never touched has none.

        Wear only grows: where the end of the movement under way stays below `least`, now does.
        """
        found = self.player.demand_by_edge(line)
        if max(found.values(), default=0.0) < least or not self._moves(line):
            return found
        self._catch_up(line)
        found = self.player.demand_by_edge(line)
        self._go_on(line)
        return found

    def slid_m(self, line: int, edge: int) -> float:
        """Sliding path at an edge of a section so far [m]; a movement under way counts whole."""
        return self.player.slid_m(line, edge)

    def energy_j(self, line: int, edge: int) -> float:
        """Friction energy at an edge of a section so far [J]; a movement under way counts whole."""
        return self.player.energy_j(line, edge)

    def depth_m(self, line: int) -> float:
        """Depth of the person on a section [m]."""
        return float(self.player.state(line)["depth_m"][0])

    def rest_of(self, move: Move, made_ticks: int) -> Move | None:
        """What is left of a movement that was cut after so many ticks; None: nothing."""
        if made_ticks <= 0:
            return move
        if move.kind in (codes.HOLD, codes.WORK):
            left = move.duration_ticks - made_ticks
            return move._replace(duration_ticks=left) if left > 0 else None
        if move.kind in (codes.STROKES, codes.PAYOUT, codes.FEED):
            return self._rope_left(move)
        return None

    def close(self, line: int, person: int, ended: int) -> None:
        """End what still moves, and note the time after the line's last movement."""
        if self._under_way is not None:  # wind still moves a line that nobody hangs on
            self._cut(self._under_way)
            self._ended, self._under_way = max(int(self.env.now), self._ended), None
        if self._ended and ended > self._ended:
            record = np.zeros(1, MOVEMENT)
            record["kind"], record["line"], record["person"] = codes.IDLE, line, person
            record["idle_ticks"], self._ended = ended - self._ended, ended
            self.tape.append(record)

    def _rope_left(self, move: Move) -> Move | None:
        state = self.player.state(move.line)[0]
        if move.cycles:
            left = move.cycles - int(state["cycle"])
            return move._replace(cycles=left) if left > 0 else None
        way_m = abs(move.length_m) - abs(float(state["gained_m"]))
        if way_m <= 1e-3:  # the rounding of a millimetre is no movement of its own
            return None
        return move._replace(length_m=way_m if move.length_m > 0 else -way_m)

    def _swap(self, move: Move, now: int) -> Outcome:
        movement = np.array([move], MOVEMENT)
        movement["idle_ticks"], self._ended = now - self._ended, now
        self.tape.append(movement)
        self.player.swap(move.line)
        return Outcome(0, move.depth_m, False)

    def _wait(self, way: UnderWay) -> Generator[simpy.Event, Any, int]:
        """Let the clock catch up with the kernel, and say on the way what became true."""
        while True:
            self._plan(way)
            if way.due is not None:
                yield way.due
            self._tell(way)
            if way.status & ENDS:
                return way.status
            way.kept = self.player.snapshot(self._row(way))

    def _plan(self, way: UnderWay) -> None:
        """Make the rest of the movement, and let the person go on when the clock is there."""
        if way.ahead:
            way.status, way.ahead = way.ahead, 0
        else:
            way.status = self.player.make(way.movement, way.start, armed=self.armed)
        way.round += 1
        left = int(self.player.state(self._row(way))["tick"][0]) - int(self.env.now)
        if way.due is None or way.due.triggered:
            way.due = self.env.event()
        mine = way.round

        def arrive(_: simpy.Event) -> None:
            if way.round == mine and way.due is not None and not way.due.triggered:
                way.due.succeed()

        timeout = self.env.timeout(max(left, 0))
        timeout.callbacks.append(arrive)

    def _tell(self, way: UnderWay) -> None:
        row = self._row(way)
        for bit, kind in TOLD.items():
            if way.status & bit:
                climbed = float(self.player.state(row)["ascended_m"][0])
                step, name = int(way.movement["step"][0]), self.player.case.line_names[row]
                self.happened(kind, name, step, self.player.worst_edge(row), climbed)

    def _catch_up(self, line: int) -> int:
        """Bring a section to now if a movement is under way on it; ticks since it began."""
        way = self._under_way
        if way is None or not self._moves(line):
            return 0
        self.player.restore(way.kept)
        now = int(self.env.now)
        if now > way.start:
            status = self.player.make(way.movement, way.start, until=now, armed=self.armed)
            way.ahead = status & (ENDS | codes.CORE_VISIBLE)
        return now - way.start

    def _go_on(self, line: int) -> None:
        way = self._under_way
        if way is not None and self._moves(line):
            way.kept = self.player.snapshot(line)
            self._plan(way)

    def _cut(self, way: UnderWay) -> None:
        """Make the movement again up to now, and no further."""
        self.player.restore(way.kept)
        now = int(self.env.now)
        if now <= way.start:
            if way.first:  # nothing is played there from a tape either
                self.player.in_use.remove(self._row(way))
            return
        way.movement["cut_ticks"] = now - way.start
        while True:
            way.status = self.player.make(
                way.movement, way.start, until=now, exact=True, armed=self.armed
            )
            self._tell(way)
            if way.status & (ENDS | codes.UNTIL):
                break
        self.tape.append(way.movement)

    def _moves(self, line: int) -> bool:
        """Tell whether a movement is under way on a section."""
        return self._under_way is not None and self._row(self._under_way) == line

    def _row(self, way: UnderWay) -> int:
        return int(way.movement["line"][0])
