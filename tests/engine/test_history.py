"""A run owes nothing to the runs played before it with the same buffers."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from edgewear.case import compile_case
from edgewear.engine.draws import stroke_block
from edgewear.engine.play import play
from edgewear.engine.player import Player, Recording
from edgewear.engine.results.outcome import outcome
from edgewear.engine.run_job import record_tape
from edgewear.layout import MOVEMENT
from edgewear.scenario import load_scenario

SCENARIOS = Path(__file__).parents[2] / "scenarios"
DEMO = SCENARIOS / "demo.yaml"


def test_a_run_is_the_same_alone_and_after_another() -> None:
    scenario = load_scenario(DEMO)
    # its last edge is touched during a part of the strokes only
    case = compile_case(scenario, "footings, padded")
    masses = {"people/inspector/mass": np.array([75.0, 110.0])}
    batch = case.batch(record_tape(scenario, case), masses, 2)

    def outcome_of(player: Player, run: int):
        draws = lambda person, block: stroke_block(run, 0, "inspector", block)  # noqa: E731
        return outcome(player, play(player, batch, run, draws))

    fresh = outcome_of(Player(case, Recording(travel=256)), 1)
    used = Player(case, Recording(travel=256))
    outcome_of(used, 0)
    again = outcome_of(used, 1)
    assert repr(again.run.tolist()) == repr(fresh.run.tolist())  # NaN differs from itself
    assert repr(again.edges.tolist()) == repr(fresh.edges.tolist())


def test_taking_one_section_back_leaves_what_another_met() -> None:
    scenario = load_scenario(SCENARIOS / "procedure.yaml")
    case = compile_case(scenario, next(iter(scenario.options)))
    player = Player(case)
    player.begin(case.batch(np.zeros(0, MOVEMENT), {}, 1), 0)
    kept = player.snapshot(0)
    player.core_step |= {0: 4, 1: 3}  # both cores show while the first section moves
    player.restore(kept)
    assert player.core_step == {1: 3}
