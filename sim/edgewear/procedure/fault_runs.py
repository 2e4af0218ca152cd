"""One procedure with some faults in it, run in many worlds: what became of it in each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from math import expm1, inf, log1p, nan
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from edgewear.engine.movement_memory import Memory
from edgewear.errors import RunFailed, UsageError
from edgewear.job.log import Kind
from edgewear.job.moves import ticks
from edgewear.layout import TICK_S
from edgewear.procedure.fates import Run, fates_of
from edgewear.procedure.seeing import Seen, seen_in
from edgewear.study.plan import values_of

if TYPE_CHECKING:
    from edgewear.case import Batch, Case
    from edgewear.engine.player import Player, Recording
    from edgewear.engine.run_job import Performance
    from edgewear.findings.fates import Fates
    from edgewear.job.faults import Injected
    from edgewear.job.log import Entry
    from edgewear.rigging.model import Section
    from edgewear.scenario.models.scenario import Scenario

MEMORY = Memory()
"""Of the movements in the world that a worker plays."""

MOST_AT_ONCE = 32
"""Runs in a chunk at most, so that a request to stop is heard soon."""

MOST_STAGES = 8
"""Compiled options a worker keeps."""


class Stage(NamedTuple):
    """An option compiled with some faults, the numbers of its worlds, and lines to play them on."""

    scenario: Scenario
    case: Case
    batch: Batch
    player: Player


_STAGES: dict[tuple[Any, ...], Stage] = {}
_REMEMBERED: list[tuple[Any, ...]] = []
_PLANS: dict[tuple[Any, ...], Run | None] = {}


class Trial(NamedTuple):
    """What became of one run; times in seconds since the job began, inf: never."""

    margin: float
    fault_s: float  # the last of its faults; inf: one of them never came
    core_s: float
    parted_s: float
    seen_s: float  # somebody saw a fault or what it did, once the last had happened
    seen_by: str  # who first, from the first fault on, and at which step; "": nobody
    fell: bool  # nothing held any more
    worst: str  # line and edge of the largest demand
    gravity: tuple[int, ...] = ()  # how badly people end, the worst first, before anybody comes
    failed: str = ""  # why it could not be computed


class Told(NamedTuple):
    """Everybody's fate in a run, and how badly people end there before anybody comes."""

    fates: Fates
    gravity: tuple[int, ...]


class World(NamedTuple):
    """Combinations of faults, by number, played in one world."""

    run: int | None  # None: with nothing left to chance
    trials: dict[int, Trial]
    fates: dict[int, Told]


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

    def __call__(self, chunk: int) -> World:
        """Play all combinations of one chunk in one world: they are alike until a fault comes."""
        indices, run = self.chunks[chunk]
        _remember_only((self.seed, self.shift, run))
        trials, fates = {}, {}
        for index in indices:
            faults = self.combinations[index]
            if run is None:
                fates[index] = self.told(index)
            else:
                stage = self.stage(faults, self.most)
                trials[index], _ = self._trial(stage, faults, run)
        return World(run, trials, fates)

    @cached_property
    def chunks(self) -> tuple[tuple[tuple[int, ...], int | None], ...]:
        """Combinations that are rigged alike, in one world; None: with nothing left to chance."""
        alike: dict[tuple[str, ...], list[int]] = {}
        for index, faults in enumerate(self.combinations):
            alike.setdefault(_rigged_with(faults), []).append(index)
        found: list[tuple[tuple[int, ...], int | None]] = []
        for mine in alike.values():
            worlds = [None, *range(max(self.replicates[index] for index in mine))]
            for run in worlds:
                here = [index for index in mine if run is None or run < self.replicates[index]]
                parts = range(0, len(here), MOST_AT_ONCE)
                found += [(tuple(here[k : k + MOST_AT_ONCE]), run) for k in parts]
        return tuple(found)

    @property
    def most(self) -> int:
        """Worlds that are met at most."""
        return max([1, *self.replicates])

    def told(self, index: int) -> Told:
        """Everybody's fate with one combination, nothing left to chance."""
        faults = self.combinations[index]
        return self._told(index, self.run_of(self.nominal(faults), faults), None)

    def fates_in(self, index: int, run: int) -> Told:
        """Everybody's fate with one combination in one world."""
        faults = self.combinations[index]
        _, read = self._trial(self.stage(faults, self.most), faults, run)
        if read is None:  # the same numbers could be computed before
            raise UsageError(f"trial {run} can no longer be computed")
        return self._told(index, read, run)

    def _told(self, index: int, read: Run, world: int | None) -> Told:
        faults = self.combinations[index]
        if not faults:
            return Told(fates_of(read), read.gravity())
        first, without = faults[0], self._without(world)
        found = fates_of(read, first.person or "", first.step or 0, first.words, without)
        return Told(found, read.gravity(without))

    def _without(self, world: int | None) -> Run | None:
        """The plan with no fault in one world; None: it can no longer be computed there."""
        key = (self.text, self.path, self.library, self.option, self.seed, self.shift,
               self.most, world)  # fmt: skip
        if key not in _PLANS:
            _PLANS.clear()  # worlds are met one after the other
            _PLANS[key] = (
                self.run_of(self.nominal()) if world is None
                else self._trial(self.stage((), self.most), (), world)[1]
            )  # fmt: skip
        return _PLANS[key]

    def run_of(self, done: Performance, faults: Sequence[Injected] = ()) -> Run:
        """A run as fates are read out of it."""
        sections = _as_they_lie(done.player.case, done.log)
        scenario = self.stage(tuple(faults), self.most).scenario
        return Run(scenario, self.option, sections, tuple(done.log),
                   tuple(faults))  # fmt: skip

    @property
    def scenario(self) -> Scenario:
        """The scenario as it was read."""
        return _loaded(self.text, self.path, self.library)

    def trials(self, faults: Sequence[Injected], replicates: int) -> list[Trial]:
        """Run the procedure with some faults once in each world."""
        stage = self.stage(tuple(faults), replicates)
        return [self._trial(stage, faults, run)[0] for run in range(replicates)]

    def nominal(
        self, faults: Sequence[Injected] = (), recording: Recording | None = None
    ) -> Performance:
        """Run the procedure once with nominal numbers and the scenario's reactions."""
        from edgewear.engine.player import SUMS_ONLY
        from edgewear.engine.run_job import perform

        stage = self.stage(tuple(faults), self.most)
        faults = [self._timed(one, 0.5) for one in faults]
        return perform(
            stage.scenario, stage.case, stage.scenario.when, recording or SUMS_ONLY,
            faults=faults, strict=True, player=stage.player if recording is None else None,
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
        there = _rigged_with(faults)
        key = (self.text, self.path, self.library, self.option, self.seed, self.shift, replicates)
        found = _STAGES.get((*key, there))
        if found is None:
            found = self._compiled([one for one in faults if one.name in there], replicates)
            if len(_STAGES) >= MOST_STAGES:
                _STAGES.clear()
            _STAGES[(*key, there)] = found
        return found

    def _compiled(self, there: Sequence[Injected], replicates: int) -> Stage:
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
        return Stage(scenario, case, batch, Player(case, memory=MEMORY))

    def _trial(
        self, stage: Stage, faults: Sequence[Injected], run: int
    ) -> tuple[Trial, Run | None]:
        from edgewear.engine.batch import varied
        from edgewear.engine.run_job import RunInputs, perform
        from edgewear.engine.trial_chance import Drawn

        replicate = run + self.shift
        chance = Drawn(self.seed, replicate)
        without = self._without(run) if faults else None  # first: both play on the same lines
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
        return trial_of(read, done, without), read


def _remember_only(world: tuple[Any, ...]) -> None:
    """Forget the movements of all other worlds."""
    if [world] != _REMEMBERED:
        MEMORY.forget()
        _REMEMBERED[:] = [world]


def _rigged_with(faults: Sequence[Injected]) -> tuple[str, ...]:
    """Names of the faults that are in the rigging before anybody starts."""
    from edgewear.job.faults import FROM_THE_START

    return tuple(one.name for one in faults if isinstance(one.fault, FROM_THE_START))


def trial_of(read: Run, done: Performance, without: Run | None = None) -> Trial:
    """Read out of a run what became of it, beside the same world with no fault."""
    from edgewear.engine.results.outcome import run_row

    run = run_row(done.player, done.ticks)[0]
    came = [_happened_s(done.log, one.name) for one in read.faults]
    fault_s = max(came, default=0.0)
    seen = seen_in(read, without) if fault_s < inf else []
    fell = any(e.kind is Kind.FALLS for e in done.log)
    return Trial(
        margin=float(run["sheath_margin"]),
        fault_s=fault_s,
        core_s=_or_never(float(run["core_visible_time_s"])),
        parted_s=_or_never(float(run["parted_time_s"])),
        seen_s=next((one.tick * TICK_S for one in seen if one.tick >= read.fault_tick), inf),
        seen_by=_words(seen[0], done.log) if seen else "",
        fell=fell,
        worst=f"{run['worst_line']} at {run['worst_edge']}",
        gravity=read.gravity(without),
    )


def _happened_s(log: Sequence[Entry], fault: str) -> float:
    """When a fault happened [s]."""
    return next((e.tick * TICK_S for e in log if e.kind is Kind.FAULT and e.who == fault), inf)


def _words(seen: Seen, log: Sequence[Entry]) -> str:
    """Who saw it, and during whose step: their own, or the one begun last."""
    begun = [e for e in log if e.kind is Kind.BEGINS and e.tick <= seen.tick]
    own = [e for e in begun if e.who == seen.by]
    if own:
        return f"{seen.by}, step {own[-1].step}: {own[-1].detail}"
    if begun:
        return f"{seen.by}, during {begun[-1].who} step {begun[-1].step}: {begun[-1].detail}"
    return seen.by


def _or_never(time_s: float) -> float:
    return inf if time_s != time_s else time_s


@lru_cache(maxsize=4)
def _loaded(text: str, path: str, library: str | None) -> Scenario:
    from edgewear.scenario import load_text

    return load_text(text, path, library)


def _as_they_lie(case: Case, log: Sequence[Entry]) -> tuple[Section, ...]:
    """The sections that people hung on, or could: one held ready for a fault once it is in use.

    From then on it takes the place of the one that it was held ready for.
    """
    used = {entry.detail for entry in log if entry.kind in (Kind.CAUGHT, Kind.HANGS_ON)}
    sections = case.rigged.sections
    ready = {instead for _, _, instead in case.fallbacks}
    in_use = {
        (row, instead) for _, row, instead in case.fallbacks if sections[instead].line in used
    }
    over = {row for row, _ in in_use} | (ready - {instead for _, instead in in_use})
    return tuple(section for row, section in enumerate(sections) if row not in over)
