"""One procedure with some faults in it, run in many worlds: what became of it in each."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import expm1, inf, log1p, nan
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from edgewear.errors import RunFailed
from edgewear.job.log import Kind
from edgewear.job.moves import ticks
from edgewear.layout import TICK_S
from edgewear.procedure.fates import Run, fates_of
from edgewear.study.plan import values_of

if TYPE_CHECKING:
    from edgewear.case import Batch, Case
    from edgewear.engine.player import Player, Recording
    from edgewear.engine.run_job import Performance
    from edgewear.findings.fates import Fates
    from edgewear.job.faults import Injected
    from edgewear.job.log import Entry
    from edgewear.scenario.models.scenario import Scenario

MOST_STAGES = 8
"""Compiled options a worker keeps."""


class Stage(NamedTuple):
    """An option compiled with some faults, the numbers of its worlds, and lines to play them on."""

    scenario: Scenario
    case: Case
    batch: Batch
    player: Player


_STAGES: dict[tuple[Any, ...], Stage] = {}


class Trial(NamedTuple):
    """What became of one run; times in seconds since the job began, inf: never."""

    margin: float
    fault_s: float  # the last of its faults; inf: one of them never came
    core_s: float
    parted_s: float
    seen_s: float  # somebody saw the fault or what it did; after the fault
    seen_by: str  # who, and at which step; "": nobody
    fell: bool  # nothing held any more
    worst: str  # line and edge of the largest demand
    gravity: tuple[int, ...] = ()  # how badly people end, the worst first, before anybody comes
    failed: str = ""  # why it could not be computed


@dataclass(frozen=True)
class FaultRuns:
    """Plays combinations of faults; travels to the workers by pickle."""

    text: str
    path: str
    library: str | None
    option: str
    seed: int
    combinations: tuple[tuple[Injected, ...], ...]
    replicates: tuple[int, ...]  # of each combination
    horizon_s: float = 0.0  # within which a rated fault happens
    shift: int = 0  # of the replicates, so that further runs meet further worlds

    def __call__(self, index: int) -> tuple[int, Played]:
        """Play one combination in all its worlds, and once with nothing left to chance."""
        faults = self.combinations[index]
        read = self.run_of(self.nominal(faults), faults)
        trials, gravest = [], read
        for trial, one in self._each(faults, self.replicates[index]):
            trials.append(trial)
            if one is not None and one.happened and one.gravity > gravest.gravity:
                gravest = one
        person, step = faults[0][2:4] if faults else (None, None)
        fates = fates_of(gravest, person or "", step or 0)
        came = [t for t in trials if not t.failed and t.fault_s < inf]
        as_grave = sum(t.gravity >= gravest.gravity for t in came)
        return index, Played(trials, replace(fates, trials=len(came), as_grave=as_grave))

    def run_of(self, done: Performance, faults: Sequence[Injected] = ()) -> Run:
        """A run as fates are read out of it."""
        sections = tuple(done.player.case.rigged.sections)
        return Run(self.stage(tuple(faults), 1).scenario, self.option, sections, tuple(done.log),
                   tuple(faults))  # fmt: skip

    @property
    def scenario(self) -> Scenario:
        """The scenario as it was read."""
        return _loaded(self.text, self.path, self.library)

    def trials(self, faults: Sequence[Injected], replicates: int) -> list[Trial]:
        """Run the procedure with some faults once in each world."""
        return [trial for trial, _ in self._each(faults, replicates)]

    def _each(
        self, faults: Sequence[Injected], replicates: int
    ) -> Iterator[tuple[Trial, Run | None]]:
        stage = self.stage(tuple(faults), replicates)
        for run in range(replicates):
            yield self._trial(stage, faults, run)

    def nominal(
        self, faults: Sequence[Injected] = (), recording: Recording | None = None
    ) -> Performance:
        """Run the procedure once with nominal numbers and the scenario's reactions."""
        from edgewear.engine.player import SUMS_ONLY
        from edgewear.engine.run_job import perform

        stage = self.stage(tuple(faults), 1)
        faults = [self._timed(one, 0.5) for one in faults]
        return perform(
            stage.scenario, stage.case, stage.scenario.when, recording or SUMS_ONLY,
            faults=faults, strict=True,
        )  # fmt: skip

    def _timed(self, one: Injected, share: float) -> Injected:
        """Give a rated fault the time at which it happens, given that it falls into the job."""
        rate = one.fault.rate
        if one.tick is None or one.tick >= 0 or rate is None or rate.value <= 0:
            return one
        falls_in = -expm1(-rate.value * self.horizon_s)
        time_s = -log1p(-share * falls_in) / rate.value
        return one._replace(tick=ticks(time_s))

    def stage(self, faults: tuple[Injected, ...], replicates: int) -> Stage:
        """The option compiled with some faults, and the numbers of its worlds.

        Compiled anew only for faults of the rigging itself; the others change nothing that is
        there when the job starts.
        """
        from edgewear.job.faults import FROM_THE_START

        there = tuple(one for one in faults if isinstance(one.fault, FROM_THE_START))
        key = (self.text, self.path, self.library, self.option, self.seed, self.shift, replicates)
        found = _STAGES.get((*key, tuple(one.name for one in there)))
        if found is None:
            found = self._compiled(there, replicates)
            if len(_STAGES) >= MOST_STAGES:
                _STAGES.clear()
            _STAGES[(*key, tuple(one.name for one in there))] = found
        return found

    def _compiled(self, there: tuple[Injected, ...], replicates: int) -> Stage:
        from edgewear.case import compile_case
        from edgewear.engine.draws import joint_uniforms
        from edgewear.engine.player import Player
        from edgewear.layout import MOVEMENT
        from edgewear.procedure.fault_rigging import prepared

        every = {one.name: one.fault for some in self.combinations for one in some}
        listed = self.scenario.model_copy(update={"faults": {**self.scenario.faults, **every}})
        scenario = prepared(listed, self.option, there)
        case = compile_case(scenario, self.option)
        values = {
            u.name: values_of(u, joint_uniforms(self.seed, u.name, u.leans, self.shift, replicates))
            for u in case.uncertainties
            if u.distribution != "fixed"
        }
        batch = case.batch(np.zeros(0, MOVEMENT), values, replicates)
        return Stage(scenario, case, batch, Player(case))

    def _trial(
        self, stage: Stage, faults: Sequence[Injected], run: int
    ) -> tuple[Trial, Run | None]:
        from edgewear.engine.batch import varied
        from edgewear.engine.run_job import RunInputs, perform
        from edgewear.engine.trial_chance import Drawn

        replicate = run + self.shift
        chance = Drawn(self.seed, replicate)
        faults = [self._timed(one, chance.share(f"time of {one.name}")) for one in faults]
        draws = varied(stage.case, self.seed, replicate)
        try:
            done = perform(
                stage.scenario, stage.case, stage.scenario.when,
                world=RunInputs(stage.batch, run, draws, chance), faults=faults, strict=True,
                player=stage.player,
            )  # fmt: skip
        except RunFailed as error:
            return Trial(nan, inf, inf, inf, inf, "", False, "", failed=str(error)), None
        read = self.run_of(done, faults)
        return trial_of(read, done), read


class Played(NamedTuple):
    """A combination of faults played: every trial, and everybody's fate by the middle."""

    trials: list[Trial]
    fates: Fates


def trial_of(read: Run, done: Performance) -> Trial:
    """Read out of a run what became of it."""
    from edgewear.engine.results.outcome import run_row

    run = run_row(done.player, done.ticks)[0]
    came = [_happened_s(done.log, one.name) for one in read.faults]
    fault_s = max(came, default=0.0)
    seen = next((e for e in done.log if e.kind is Kind.SEES and e.tick * TICK_S >= fault_s), None)
    fell = any(e.kind is Kind.FALLS for e in done.log)
    return Trial(
        margin=float(run["sheath_margin"]),
        fault_s=fault_s,
        core_s=_or_never(float(run["core_visible_time_s"])),
        parted_s=_or_never(float(run["parted_time_s"])),
        seen_s=seen.tick * TICK_S if seen is not None else inf,
        seen_by=_words(seen, done.log) if seen is not None else "",
        fell=fell,
        worst=f"{run['worst_line']} at {run['worst_edge']}",
        gravity=read.gravity,
    )


def _happened_s(log: Sequence[Entry], fault: str) -> float:
    """When a fault happened [s]."""
    return next((e.tick * TICK_S for e in log if e.kind is Kind.FAULT and e.who == fault), inf)


def _words(seen: Entry, log: Sequence[Entry]) -> str:
    """Who saw it, and during whose step: their own, or the one begun last."""
    begun = [e for e in log if e.kind is Kind.BEGINS and e.tick <= seen.tick]
    own = [e for e in begun if e.who == seen.who]
    if own:
        return f"{seen.who}, step {own[-1].step}: {own[-1].detail}"
    if begun:
        return f"{seen.who}, during {begun[-1].who} step {begun[-1].step}: {begun[-1].detail}"
    return seen.who


def _or_never(time_s: float) -> float:
    return inf if time_s != time_s else time_s


@lru_cache(maxsize=4)
def _loaded(text: str, path: str, library: str | None) -> Scenario:
    from edgewear.scenario import load_text

    return load_text(text, path, library)
