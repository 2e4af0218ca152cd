"""Movements made again from memory: bit for bit what the kernel makes."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from edgewear.case import compile_case
from edgewear.engine.batch import varied
from edgewear.engine.draws import joint_uniforms
from edgewear.engine.movement_memory import Memory
from edgewear.engine.player import Player
from edgewear.engine.results.outcome import edge_rows, run_row
from edgewear.engine.run_job import RunInputs, perform
from edgewear.engine.trial_chance import Drawn
from edgewear.job.faults import Injected
from edgewear.layout import MOVEMENT
from edgewear.study.plan import values_of
from support.procedures import procedure

SEEDS = [3, 5, pytest.param(range(6, 60), marks=pytest.mark.long)]
RUNS = 2


class Counted(Memory):
    """Counts what it could recall."""

    def __init__(self, room_bytes=200_000_000) -> None:
        super().__init__(room_bytes)
        self.asked = self.known = 0

    def recall(self, history, buffers):
        found = super().recall(history, buffers)
        self.asked, self.known = self.asked + 1, self.known + (found is not None)
        return found


def worlds(case):
    """Uncertain numbers of a few runs."""
    values = {
        u.name: values_of(u, joint_uniforms(0, u.name, u.leans, 0, RUNS))
        for u in case.uncertainties
        if u.distribution != "fixed"
    }
    return case.batch(np.zeros(0, MOVEMENT), values, RUNS)


def became(scenario, case, batch, player, faults, run):
    """All that a run came to, to the last bit: its log, its tape, its sums."""
    inputs = RunInputs(batch, run, varied(case, 0, run), Drawn(0, run))
    done = perform(scenario, case, scenario.when, world=inputs, faults=faults, strict=True,
                   player=player)  # fmt: skip
    rows = (repr(r.tolist()) for r in (run_row(done.player, done.ticks), edge_rows(done.player)))
    return repr(done.log), done.tape.tobytes(), *rows


@pytest.mark.parametrize("seeds", SEEDS, ids=str)
@pytest.mark.parametrize("room_bytes", [200_000_000, 100_000], ids=["roomy", "narrow"])
def test_runs_from_memory_are_bit_for_bit_those_that_were_made(seeds, room_bytes) -> None:
    for seed in [seeds] if isinstance(seeds, int) else seeds:
        scenario = procedure(seed)
        if scenario is None:
            continue
        case, memory = compile_case(scenario, "as made"), Counted(room_bytes)
        batch = worlds(case)
        alone = [(Injected(name, fault),) for name, fault in scenario.faults.items()]
        chosen = [(), *alone, *(a + b for a, b in combinations(alone, 2))][:9]
        remembering = Player(case, memory=memory)
        for run in range(RUNS):
            for faults in chosen:
                made = became(scenario, case, batch, Player(case), faults, run)
                assert became(scenario, case, batch, remembering, faults, run) == made
        if room_bytes > 1e8:
            # every run begins as the one without faults does: something of each is known
            assert memory.known > memory.asked / 4
