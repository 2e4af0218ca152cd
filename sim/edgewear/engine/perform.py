"""Runs a job with people on a clock, and keeps the tape of what they did."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import simpy

from edgewear.case import Case, Records
from edgewear.engine.clock import RopeLine
from edgewear.engine.player import SUMS_ONLY, Draws, Player, Recording, steady
from edgewear.job.build import plan, stations
from edgewear.job.job import Job
from edgewear.job.log import Entry, Log
from edgewear.job.worker import Worker
from edgewear.layout import MOVEMENT
from edgewear.scenario.models import Scenario

CARRY_ON: dict[str, str] = {}
"""Nobody reacts to anything."""


class Performance(NamedTuple):
    """A job as it went: the lines at its end, the log, the tape, and how long it took."""

    player: Player
    log: list[Entry]
    tape: Records
    ticks: int


def perform(
    scenario: Scenario,
    case: Case,
    reactions: dict[str, str] = CARRY_ON,
    recording: Recording = SUMS_ONLY,
    draws: Draws = steady,
) -> Performance:
    """Let the people of a scenario do their job with nominal numbers.

    reactions: trigger -> what is done; nothing happens for a trigger that is not there.
    """
    env, log, tape = simpy.Environment(), Log(), []
    player = Player(case, recording)
    player.begin(case.batch(np.zeros(0, MOVEMENT), {}, 1), 0, draws)
    job = Job(env, log, reactions)
    for row, name in enumerate(case.person_names):
        line = RopeLine(env, player, tape, job.happened)
        technique = scenario.options[case.option].people[name].technique.name
        worker = Worker(env, case, row, stations(case, name), line, log, technique)
        job.start(worker, plan(scenario, case, name))
    job.run()
    made = np.concatenate(tape) if tape else np.zeros(0, MOVEMENT)
    return Performance(player, log.entries, made, int(env.now))


def record_tape(scenario: Scenario, case: Case) -> Records:
    """The movements of the whole plan with nobody reacting, MOVEMENT (n,)."""
    return perform(scenario, case).tape
