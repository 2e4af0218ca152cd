"""Playing one set-up in many worlds, without a dataset: for fits and observations."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from edgewear.engine.draws import joint_uniforms
from edgewear.study.plan import values_of
from edgewear.study.task import refuse_parts

if TYPE_CHECKING:
    from edgewear.case import Case, Records

Floats = NDArray[np.float64]
Values = dict[str, Floats]

LEFT_OUT = ("wear/discrepancy",)
"""Never drawn here: what the model gets wrong is told by the observations themselves."""


def compiled(text: str, option: str = "bare") -> tuple[Case, Records]:
    """Compile an option of a scenario's text, with the tape that nobody reacts to."""
    from edgewear.case import compile_case
    from edgewear.engine.run_job import record_tape
    from edgewear.scenario import load_text

    scenario = load_text(text, "observation")
    case = compile_case(scenario, option)
    return case, record_tape(scenario, case)


def drawn(case: Case, draws: int, seed: int, left_out: tuple[str, ...] = LEFT_OUT) -> Values:
    """Draw every uncertainty of a case but those left out, (draws,) each, joint as the fit says."""
    return {
        u.name: values_of(u, joint_uniforms(seed, u.name, u.leans, 0, draws))
        for u in case.uncertainties
        if u.distribution != "fixed" and u.name not in left_out
    }


def played(case: Case, tape: Records, values: Values, seed: int) -> Records:
    """Play a tape in the worlds given, strokes varying; RUN (n,).

    Raises:
        RunFailed: a run that cannot be computed, or comes to a part of the plan.
    """
    from edgewear.engine.batch import play_batch

    count = len(next(iter(values.values())))
    runs, _ = play_batch(case, tape, values, np.arange(count), seed)
    refuse_parts("a set-up of the observations", runs)
    return runs


def nominal(case: Case, tape: Records) -> Records:
    """Play a tape once with nominal values and strokes that do not vary; RUN (1,).

    Raises:
        RunFailed: it comes to a part of the plan.
    """
    from edgewear.engine.play import play
    from edgewear.engine.player import Player
    from edgewear.engine.results.outcome import outcome

    player = Player(case)
    run = outcome(player, play(player, case.batch(tape, {}, 1))).run
    refuse_parts("a set-up of the observations", run)
    return run


UNBREAKABLE = 1e9


def unbreakable(case: Case) -> Case:
    """Give a case whose rope never parts, so that exposure can be read beyond the core's end."""
    wear = case.wear.copy()
    wear["breaking_n"] *= UNBREAKABLE
    wear["core_j_m"] *= UNBREAKABLE
    return replace(case, wear=wear)


def with_law(case: Case, law: str) -> Case:
    """Give a case with another wear law: weighted, energy or threshold."""
    from edgewear.case.nominal_records import LAWS

    wear = case.wear.copy()
    wear["law"] = LAWS[law]
    return replace(case, wear=wear)
