"""Plays a tape: the only stepping entry for whoever has no people to watch."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable

from edgewear import codes
from edgewear.case import Batch, Records
from edgewear.engine.player import Draws, Player, steady

OVER = codes.DONE | codes.PARTED
"""Statuses after which a movement has nothing left to make."""

Heard = Callable[[Records, int], None]
"""Told of each movement (1,) when it has been made, and of the tick at which it began."""


def _nobody(movement: Records, start: int) -> None:
    """Where nobody listens."""


def play(
    player: Player,
    batch: Batch,
    run: int = 0,
    draws: Draws = steady,
    heard: Heard = _nobody,
    movements: Records | None = None,
) -> int:
    """Play a batch's tape with the numbers of one run; returns the tick at which it ends.

    Every line of a person has a clock of its own: a movement begins so long after the one before
    it as it did when the tape was recorded. A movement with `cut_ticks` is cut there. A line that
    parts makes no movement any more. `movements` (m,) are made instead of the batch's tape.

    Raises:
        RunFailed: the kernel met something that is not a number.
    """
    player.begin(batch, run, draws)
    tape = _Tape(player, heard)
    made = batch.tape[run] if movements is None else movements
    for index in range(len(made)):
        tape.take(made[index : index + 1])
    return max(tape.clocks.values(), default=0)


class _Tape:
    """What has to be remembered from one entry of a tape to the next."""

    def __init__(self, player: Player, heard: Heard) -> None:
        self.player, self.heard = player, heard
        self.clocks: defaultdict[tuple[int, int], int] = defaultdict(int)  # line -> tick
        self.edits: defaultdict[int, list[Records]] = defaultdict(list)  # section -> still to come
        self.parted: set[tuple[int, int]] = set()  # (person, role of the line)

    def take(self, movement: Records) -> None:
        """Play one entry."""
        kind, row = int(movement["kind"][0]), int(movement["line"][0])
        if kind == codes.EDIT:
            self._edit(movement, row)
            return
        person = int(movement["person"][0])
        line = (person, int(self.player.case.lines[row]["role"]))
        if line in self.parted:
            return
        start = self.clocks[line] + int(movement["idle_ticks"][0])
        if kind in (codes.SWAP, codes.IDLE):
            self.clocks[line] = start
            if kind == codes.SWAP:
                self.player.swap(row)
            return
        if self._make(movement, row, start) & codes.PARTED:
            self.parted.add(line)
        self.clocks[line] = int(self.player.state(row)["tick"][0])
        self.heard(movement, start)

    def _edit(self, movement: Records, row: int) -> None:
        if movement["at_ticks"][0]:
            self.edits[row].append(movement)
        else:
            self.player.edit(row, int(movement["edge"][0]), int(movement["variant"][0]))

    def _make(self, movement: Records, row: int, start: int) -> int:
        status = 0
        for edit in self.edits.pop(row, ()):
            if not status & OVER:
                status = self.player.make(
                    movement, start, start + int(edit["at_ticks"][0]), armed=codes.PARTED
                )
            self.player.edit(row, int(edit["edge"][0]), int(edit["variant"][0]))
        if status & OVER:
            return status
        cut = int(movement["cut_ticks"][0])
        until = start + cut if cut else None
        return self.player.make(movement, start, until, exact=bool(cut), armed=codes.PARTED)
