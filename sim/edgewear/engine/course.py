"""Courses that follow the rope: how far somebody climbs to a re-anchor depends on its stretch."""

from __future__ import annotations

import numpy as np

from edgewear.case import Batch, Case, Records
from edgewear.engine.player import Player
from edgewear.engine.run_job import RunInputs, perform
from edgewear.layout import MOVEMENT
from edgewear.scenario.models.scenario import Scenario

STIFFER, HEAVIER = 0.8, 1.1
"""Factors on the ropes' stiffness and on people's mass that no course should notice [1]."""

SAME_M = 1e-12
"""Differences of a tape that are rounding alone."""


def follows_rope(scenario: Scenario, case: Case, tape: Records) -> bool:
    """Tell whether other ropes and people would make other movements of the same job.

    Parameters:
        scenario: with the job.
        case: of the option.
        tape: MOVEMENT (m,) with the scenario's numbers.
    """
    factors = {"dynamic ratio": STIFFER, "mass": HEAVIER}
    values = {
        one.name: np.array([one.median * factors[word]])
        for one in case.uncertainties
        if (word := one.name.rpartition("/")[2]) in factors
    }
    other = tape_in(scenario, case, case.batch(np.zeros(0, MOVEMENT), values, 1), 0)
    if len(other) != len(tape):
        return True
    return not all(
        np.allclose(other[name], tape[name], rtol=SAME_M, atol=SAME_M)
        for name in MOVEMENT.names or ()
    )


def tape_in(
    scenario: Scenario, case: Case, batch: Batch, run: int, player: Player | None = None
) -> Records:
    """The movements of the whole plan with the numbers of one run, nobody reacting: MOVEMENT (n,).

    Parameters:
        player: one of the same case to use again.
    """
    done = perform(scenario, case, world=RunInputs(batch, run), player=player)
    return done.tape
