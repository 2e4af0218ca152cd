"""The log of a run played from its tape: steps on the rope, and what became of the rope."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from edgewear.case import Batch, Records
from edgewear.engine.play import play
from edgewear.engine.player import Draws, Player
from edgewear.engine.results.nominal_tables import EVENT_DTYPE
from edgewear.job.log import COLUMNS, Entry, Kind

Words = Mapping[tuple[str, int], str]
"""(person, step) -> the step in words."""

FIRSTS = {Kind.CORE_VISIBLE: "core", Kind.PARTED: "parted"}
"""What may become true of a rope once, and the fields of its state that tell when."""


def words_of(log: list[Entry]) -> Words:
    """Take the steps' words from the log of a nominal run."""
    return {(entry.who, entry.step): entry.detail for entry in log if entry.kind is Kind.BEGINS}


def play_course(
    player: Player,
    batch: Batch,
    run: int,
    draws: Draws,
    words: Words,
    option: str,
    movements: Records | None = None,
) -> Records:
    """Play a batch's tape with the numbers of one run, and write down what happened.

    Nobody reacts, and what people do away from the rope is on no tape: it stands in the nominal
    run's log.

    Parameters:
        player, batch, run, draws, movements: as for `play`.
        words: of the steps.
        option: its name, for the rows.

    Returns:
        records.EVENT (n,) in the order it happened.

    Raises:
        RunFailed: the kernel met something that is not a number.
    """
    course = _Course(player, words)
    play(player, batch, run, draws, course.hear, movements)
    entries = sorted(course.entries(), key=lambda entry: entry.tick)
    rows = np.zeros(len(entries), EVENT_DTYPE)
    rows["option"] = option
    for name in COLUMNS:
        rows[name] = [getattr(entry, name) for entry in entries]
    return rows


class _Course:
    """Listens to a tape being played."""

    def __init__(self, player: Player, words: Words) -> None:
        self.player, self.words = player, words
        self.steps: dict[tuple[str, int], tuple[Entry, Entry]] = {}
        self.firsts: dict[tuple[Kind, int, int], Entry] = {}  # kind, section, tick

    def hear(self, movement: Records, start: int) -> None:
        """Take note of a movement and of what became true in it."""
        case, row, step = self.player.case, int(movement["line"][0]), int(movement["step"][0])
        state, who = self.player.state(row), case.person_names[int(movement["person"][0])]
        words = self.words.get((who, step), "")
        begins = Entry(start, who, Kind.BEGINS, step, words)
        first = self.steps.get((who, step), (begins, begins))[0]
        ended, depth_m = int(state["tick"][0]), float(state["depth_m"][0])
        self.steps[who, step] = first, Entry(ended, who, Kind.ENDS, step, words, depth_m)
        for kind, field in FIRSTS.items():
            tick, climbed_m = int(state[f"{field}_tick"][0]), float(state[f"{field}_ascended_m"][0])
            if tick >= 0 and (kind, row, tick) not in self.firsts:
                name, edge = case.line_names[row], self.player.worst_edge(row)
                self.firsts[kind, row, tick] = Entry(tick, name, kind, step, edge, climbed_m)

    def entries(self) -> list[Entry]:
        """Everything heard; a step's beginning stands before its end."""
        steps = [entry for both in self.steps.values() for entry in both]
        return [*steps, *self.firsts.values()]
