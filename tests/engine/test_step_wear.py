"""Wear by step and person: it sums to the line's largest demand, and stands where it came about."""

from __future__ import annotations

import numpy as np
import pytest

from edgewear import mechanics
from edgewear.case import Case, compile_case
from edgewear.engine.play import play
from edgewear.engine.player import Player
from edgewear.engine.results.outcome import worst_place
from edgewear.engine.results.step_wear import step_wear
from edgewear.engine.run_job import record_tape
from edgewear.scenario import load_text

SITE = """
edgewear: 1
title: two people over one arris
setting: test
anchors:
  near: {out: -2 m, up: 0.4 m}
  far: {out: -9 m, up: 0.4 m}
edges:
  arris: {out: 0 m, up: 0 m, radius: 2 mm, surface: steel}
ropes:
  rope: {like: low-stretch 11, length: 60 m, stopper: yes}
people:
  first: {mass: 95 kg, technique: jerky, start: 6 m}
  second: {mass: 80 kg, technique: normal, start: 6 m}
lines:
  first: {anchor: near, rope: rope}
  second: {anchor: far, rope: rope}
options:
  bare: {}
job:
  first:
    - work: {for: 3 min, bounce: 20 mm, bounce rate: 0.5 per s, tool: 150 N}
    - ascend: 2 m
    - descend: 1 m
  second:
    - repeat: {times: 2, steps: [{ascend: 1 m}, {descend: 1 m}]}
    - rest: 1 min
"""


@pytest.fixture(scope="module")
def case() -> Case:
    return compile_case(load_text(SITE, "site"), "bare")


@pytest.fixture(scope="module")
def tape(case: Case) -> np.ndarray:
    return record_tape(load_text(SITE, "site"), case)


def test_the_steps_of_each_line_sum_to_its_largest_demand(case: Case, tape: np.ndarray) -> None:
    batch = case.batch(tape, {}, 1)
    rows = step_wear(case, batch, "bare")
    play(player := Player(case), batch)
    worst = worst_place(player)
    sums = {line: rows["demand"][rows["line"] == line].sum() for line in set(rows["line"])}
    assert len(sums) == 2
    assert max(sums.values()) == pytest.approx(worst.demand, rel=1e-9)
    assert (rows["demand"] >= -1e-12).all()  # nothing grows back, but for rounding


def test_a_line_is_its_persons_and_work_wears_in_its_own_step(case: Case, tape: np.ndarray) -> None:
    rows = step_wear(case, case.batch(tape, {}, 1), "bare")
    who = {(row["person"], row["by"]) for row in rows}
    assert who == {("first", "first"), ("second", "second")}
    play(player := Player(case), case.batch(tape, {}, 1))
    row = int(tape["line"][tape["person"] == 0][0])
    cell = int(np.argmax(mechanics.demand(player.buffers(row))))
    only = tape[(tape["person"] == 0) & (tape["step"] <= 1)]
    play(alone := Player(case), case.batch(only, {}, 1))
    work = rows[(rows["person"] == "first") & (rows["step"] <= 1)]["demand"].sum()
    assert work == pytest.approx(mechanics.demand(alone.buffers(row))[cell], rel=1e-9)
    assert work > 0.0
