"""Joins time to physics: a line on the job's clock.

A movement goes to the kernel whole, in one call, before its time has passed. If somebody
interrupts it, the line is taken back to where the movement began and made again up to that
tick. So no step depends on what else is going on, and a movement that nobody interrupts is bit
for bit the one that a recorded tape replays.
"""

from __future__ import annotations

from collections.abc import Callable, Generator
from typing import Any

import numpy as np
import simpy

from edgewear.case import Records
from edgewear.engine.player import Player
from edgewear.job.line import Outcome
from edgewear.job.moves import Move
from edgewear.layout import MOVEMENT, Status

Happened = Callable[[str, str, int, str, float], None]
"""(what, who, step, detail, value): told when something becomes true on a line."""

TOLD = {Status.CORE_VISIBLE: "core visible", Status.PARTED: "parted"}
"""Statuses the job hears of, by the words of a scenario's `when`."""


class RopeLine:
    """A person's line: makes movements, keeps the tape, says what became true."""

    def __init__(
        self, env: simpy.Environment, player: Player, tape: list[Records], happened: Happened
    ) -> None:
        self.env, self.player, self.tape, self.happened = env, player, tape, happened
        self.armed = Status.CORE_VISIBLE | Status.PARTED

    def advance(self, move: Move) -> Generator[simpy.Event, Any, Outcome]:
        """Make a movement; an interrupt cuts it at that tick and is raised again."""
        movement = np.array([tuple(move)], MOVEMENT)
        start = int(self.env.now)
        kept = self.player.snapshot(move.line)
        try:
            parted = yield from self._make(movement, move, start)
        except simpy.Interrupt:
            self._cut(movement, start, kept)
            raise
        self.tape.append(movement)
        state = self.player.state(move.line)
        return Outcome(int(self.env.now) - start, float(state["depth_m"][0]), parted)

    def _make(self, movement: Records, move: Move, start: int) -> Generator[simpy.Event, Any, bool]:
        parted = False
        while True:
            status = self.player.make(movement, start, armed=self.armed)
            state = self.player.state(move.line)
            yield self.env.timeout(int(state["tick"][0]) - int(self.env.now))
            for bit, what in TOLD.items():
                if status & bit:
                    self.happened(
                        what, self._name(move), move.step, "", float(state["ascended_m"][0])
                    )
            parted = parted or bool(status & Status.PARTED)
            if status & (Status.DONE | Status.FULL) or parted:
                return parted

    def _cut(self, movement: Records, start: int, kept: Any) -> None:
        """Make the movement again from its beginning, up to now."""
        self.player.restore(kept)
        now = int(self.env.now)
        if now > start:
            movement["cut_ticks"] = now - start
            self.player.make(movement, start, until=now, exact=True)
            self.tape.append(movement)

    def _name(self, move: Move) -> str:
        return self.player.case.line_names[move.line]
