"""Tests run by the engine: the figures that what was seen is held against."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from edgewear.errors import RunFailed
from edgewear.programme.likelihood import Figures
from edgewear.programme.model import Progress, RopeTest, What
from edgewear.terms import FAILED

if TYPE_CHECKING:
    from edgewear.case import Case, Records

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
Values = Mapping[str, Floats]
"""Name of an uncertainty -> (n,) in its unit."""

UNBREAKABLE = 1e9
"""So many times as much core and strength: the run goes on beyond what parts a rope."""

COLUMNS = {"anchor peak": "anchor_peak_n", "stretch": "stretch_m", "slip": "slip_m"}
"""Figures that a run's row holds as they are."""

NUMBERS = ("anchor_peak_n", "stretch_m", "slip_m", "peak_tension_n")
"""Columns of RUN that are kept."""

MOST_FAILED = 0.02
"""Share of worlds drawn that may have no run before a test is refused [1]; assumed. A number drawn
far out, such as a person's pull that moves nothing, makes a movement impossible: no such person
made the test."""

LEFT_OUT = ("wear/discrepancy",)
"""Never drawn here: what the law gets wrong is told by the tests themselves."""


@dataclass(frozen=True)
class Stage:
    """A test compiled as it is when it stops so far on."""

    after: Progress | None
    case: Case
    tape: Records


@dataclass(frozen=True)
class Worn:
    """What n runs of one stage came to, before it is known what wears a sheath through.

    A rope's wear changes nothing of how it moves, so what happens at its worst place depends on no
    number that tells how much exposure breaks sheath and core.
    """

    exposure_j_m: Floats
    """At the worst place (n,) [J/m]."""
    wear: Records
    """WEAR (n,) of the line with the worst place: what breaks sheath and core there."""
    rows: Mapping[str, Floats]
    """Columns of RUN that figures are read from, (n,) each."""
    temperature_c: Floats
    """Highest contact temperature (n,) [degC]; NaN: none, or not asked for."""
    line: Whole = field(default_factory=lambda: np.zeros(0, np.int64))
    """Row of the line with the worst place (n,)."""


def stages_of(test: RopeTest, stages: Iterable[Progress | None] | None = None) -> tuple[Stage, ...]:
    """Compile a test at each stage that its outcomes ask for.

    Raises:
        ScenarioError: it cannot be rigged.
    """
    from edgewear.case import compile_case
    from edgewear.engine.run_job import record_tape

    found = []
    for after in test.stages() if stages is None else stages:
        scenario = test.at(after)
        case = compile_case(scenario, test.option)
        found.append(Stage(after, case, record_tape(scenario, case)))
    return tuple(found)


def unbreakable(case: Case) -> Case:
    """Give a case whose rope never parts, so that exposure can be read beyond the core's end."""
    wear = case.wear.copy()
    wear["breaking_n"] *= UNBREAKABLE
    wear["core_j_m"] *= UNBREAKABLE
    return replace(case, wear=wear)


def played(
    stage: Stage,
    values: Values,
    replicates: Whole,
    seed: int,
    heat: bool = False,
    failing: float = 0.0,
) -> Worn:
    """Play one stage in the worlds given.

    Parameters:
        values: name of an uncertainty -> (n,); names that the case does not know are passed over.
        replicates: (n,) whose stroke variation each run gets.
        seed: of that variation.
        heat: whether contact temperatures are wanted, which is slower.
        failing: share of runs that may not be computable, or use a rope up [1]; their exposure is
            NaN.

    Raises:
        RunFailed: more runs than that cannot be computed, or use a rope up.
    """
    from edgewear.engine.batch import play_batch

    case = unbreakable(stage.case)
    known = {one.name for one in case.uncertainties}
    own = {name: column for name, column in values.items() if name in known}
    runs, edges = play_batch(case, stage.tape, own, replicates, seed, edges=heat)
    # nothing parts here: what is not finished has used its rope up, and is of a part of the test
    failed = (runs["status"] == FAILED) | (runs["unfinished_step"] > 0)
    if failed.mean() > failing:
        raise RunFailed(str(runs["reason"][failed][0] or "a rope is used up"))
    count = len(replicates)
    held = case.batch(stage.tape[:0], own, count).wear
    line = _worst_lines(stage.case, runs)
    exposure = runs["sheath_demand_max"] * held["sheath_j_m"][np.arange(count), line]
    exposure[failed] = np.nan
    true = stage.case.batch(stage.tape[:0], own, count).wear
    hottest = np.full(count, np.nan)
    for run in np.unique(edges["run"]) if heat else ():
        hottest[run] = _hottest(edges["flash_temperature_c"][edges["run"] == run])
    rows = {name: runs[name] for name in NUMBERS}
    return Worn(exposure, true[np.arange(count), line], rows, hottest, line)


def nominal_exposure(stage: Stage) -> float:
    """Exposure of the worst place in one run with nominal values and even strokes [J/m]."""
    from edgewear.engine.play import play
    from edgewear.engine.player import Player
    from edgewear.engine.results.outcome import outcome

    case = unbreakable(stage.case)
    player = Player(case)
    row = outcome(player, play(player, case.batch(stage.tape, {}, 1))).run
    line = _worst_lines(case, row)[0]
    return float(row["sheath_demand_max"][0] * case.wear["sheath_j_m"][line])


def _worst_lines(case: Case, runs: Records) -> Whole:
    """Row of the line that holds each run's worst place (n,); its sections share one rope."""
    row = {name: at for at, name in reversed(list(enumerate(case.line_names)))}
    return np.array([row.get(name, 0) for name in runs["worst_line"]], np.int64)


def _hottest(temperatures: Floats) -> float:
    known = temperatures[~np.isnan(temperatures)]
    return float(known.max()) if len(known) else np.nan


def figure(what: What, worn: Worn) -> Floats:
    """Give one number of runs, (n,) in SI.

    Parameters:
        what: as in `model.What`.
        worn: of the stage at which it is asked for.
    """
    if what == "demand":
        demand: Floats = worn.exposure_j_m / worn.wear["sheath_j_m"]
        return demand
    if what == "core lost":
        return 1.0 - core_left(worn)
    if what == "strength lost":
        return 1.0 - strength_share(worn)
    if what == "parting":
        return worn.exposure_j_m / parting_j_m(worn)
    if what == "contact temperature":
        return worn.temperature_c
    return worn.rows[COLUMNS[what]]


def core_left(worn: Worn) -> Floats:
    """Share of the core's section left (n,): (1 - (X - X_s)+/X_c)+^(1/(a + 1)) (model page 7.3)."""
    excess = np.maximum(worn.exposure_j_m - worn.wear["sheath_j_m"], 0.0)
    left: Floats = np.maximum(1.0 - excess / worn.wear["core_j_m"], 0.0)
    return left ** (1.0 / (worn.wear["core_exponent"] + 1.0))


def strength_share(worn: Worn) -> Floats:
    """Strength left over that of the same rope new (n,), as the kernels have it.

    (1 - k)*(1 - X/X_s)+ + k*(1 - q*min(X/X_s, 1))*core left.
    """
    share = worn.wear["core_strength_share"]
    sheath = np.maximum(1.0 - worn.exposure_j_m / worn.wear["sheath_j_m"], 0.0)
    core = core_left(worn) * (1.0 - worn.wear["core_weakening"] * (1.0 - sheath))
    found: Floats = (1.0 - share) * sheath + share * core
    return found


def parting_j_m(worn: Worn) -> Floats:
    """Exposure at which the rope holds no more than the largest tension of the run (n,) [J/m].

    F_0*k*(1 - q)*(1 - e)^(1/(a + 1)) = T solved for e: X = X_s + e*X_c. The kernel compares
    the tension of the moment, which is at most the largest one.
    """
    holds = worn.wear["core_strength_share"] * (1.0 - worn.wear["core_weakening"])
    strength_n = holds * worn.wear["breaking_n"]
    left = np.minimum(worn.rows["peak_tension_n"] / strength_n, 1.0)
    gone = 1.0 - left ** (worn.wear["core_exponent"] + 1.0)
    found: Floats = worn.wear["sheath_j_m"] + gone * worn.wear["core_j_m"]
    return found


def simulated(test: RopeTest, values: Values, replicates: Whole, seed: int) -> Figures:
    """Play a test in the worlds given, and give every figure that its outcomes ask for.

    Parameters:
        values: name of an uncertainty -> (n,).
        replicates: (n,) whose stroke variation each run gets.
        seed: of that variation.

    Raises:
        ScenarioError: it cannot be rigged.
        RunFailed: a run that cannot be computed.
    """
    heat = any(one.what == "contact temperature" for one in test.figures())
    stages = {s.after: s for s in stages_of(test)}
    worn = {after: played(s, values, replicates, seed, heat) for after, s in stages.items()}
    return {one: figure(one.what, worn[one.after]) for one in test.figures()}


def drawn(
    case: Case, draws: int, seed: int, left_out: tuple[str, ...] = LEFT_OUT
) -> dict[str, Floats]:
    """Draw every uncertainty of a case but those left out, (draws,) each."""
    from edgewear.engine.draws import joint_uniforms
    from edgewear.study.plan import values_of

    return {
        u.name: values_of(u, joint_uniforms(seed, u.name, u.leans, 0, draws))
        for u in case.uncertainties
        if u.distribution != "fixed" and u.name not in left_out
    }
