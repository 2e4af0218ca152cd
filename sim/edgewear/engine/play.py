"""Plays a tape: the only stepping entry for whoever has no people to watch."""

from __future__ import annotations

from edgewear.case import Batch
from edgewear.engine.player import Draws, Player, steady
from edgewear.layout import Status


def play(player: Player, batch: Batch, run: int = 0, draws: Draws = steady) -> int:
    """Play a batch's tape with the numbers of one run; returns the tick at which it ends.

    A movement with `cut_ticks` is cut there, as it was when the tape was recorded. A line that
    parts ends the run.

    Raises:
        RunFailed: the kernel met something that is not a number.
    """
    player.begin(batch, run, draws)
    tick, tape = 0, batch.tape[run]
    for index in range(len(tape)):
        movement = tape[index : index + 1]
        cut = int(movement["cut_ticks"][0])
        until = tick + cut if cut else None
        status = player.make(movement, tick, until, exact=bool(cut), armed=Status.PARTED)
        tick = int(player.state(int(movement["line"][0]))["tick"][0])
        if status & Status.PARTED:
            break
    return tick
