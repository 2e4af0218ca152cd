"""Which step wore the rope, and whose: the demand each adds where a line is worn most."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear import mechanics
from edgewear.case import Batch, Case, Records
from edgewear.engine.play import play
from edgewear.engine.player import Player
from edgewear.records import STEP_WEAR, numpy_dtype

STEP_WEAR_DTYPE = numpy_dtype(STEP_WEAR)


class _After(NamedTuple):
    """A line after a movement."""

    by: str  # who made it
    step: int
    demand: NDArray[np.float64]  # (c,) of each cell


class _Listener:
    """Keeps the demand along every piece of rope after each movement of a tape."""

    def __init__(self, player: Player) -> None:
        self.player = player
        self.pieces: dict[tuple[int, int], list[_After]] = {}  # section, which piece of rope in it

    def hear(self, movement: Records, start: int) -> None:
        """Take note of a movement that was made."""
        case, row = self.player.case, int(movement["line"][0])
        piece = row, self.player.rope[row]
        by, step = case.person_names[int(movement["person"][0])], int(movement["step"][0])
        demand = mechanics.demand(self.player.buffers(row))
        self.pieces.setdefault(piece, []).append(_After(by, step, demand))


def step_wear(case: Case, batch: Batch, option: str) -> Records:
    """Give what each step added to each line, `records.STEP_WEAR` (n,), of the batch's first run.

    The place is the one with the largest demand at the end; of several pieces of rope on a line
    the most worn one counts. What the steps add sums up to that demand.

    Raises:
        RunFailed: the kernel met something that is not a number.
    """
    listener = _Listener(player := Player(case))
    play(player, batch, heard=listener.hear)
    worst: dict[str, tuple[float, int, list[_After]]] = {}
    for (row, _), course in listener.pieces.items():
        line, most = case.line_names[row], float(course[-1].demand.max(initial=0.0))
        if most > worst.get(line, (0.0,))[0]:
            worst[line] = most, row, course
    blocks = [_rows(case, option, row, course) for _, row, course in worst.values()]
    return np.concatenate([np.zeros(0, STEP_WEAR_DTYPE), *blocks])


def _rows(case: Case, option: str, row: int, course: list[_After]) -> Records:
    cell = int(np.argmax(course[-1].demand))
    added: dict[tuple[str, int], float] = {}
    before = 0.0
    for after in course:
        key, now = (after.by, after.step), float(after.demand[cell])
        added[key] = added.get(key, 0.0) + now - before
        before = now
    rows = np.zeros(len(added), STEP_WEAR_DTYPE)
    rows["option"], rows["line"] = option, case.line_names[row]
    rows["person"] = case.rigged.sections[row].person
    rows["by"], rows["step"] = [by for by, _ in added], [step for _, step in added]
    rows["demand"] = list(added.values())
    return rows
