"""Which runs are played together, when a rated fault comes, and who saw it during whose step."""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace
from functools import partial
from math import exp, inf, isnan, nan
from types import SimpleNamespace

import pytest

from edgewear.engine import run_job
from edgewear.engine.results import outcome
from edgewear.engine.results.outcome import edge_rows
from edgewear.errors import Interrupted, RunFailed, UsageError
from edgewear.job.faults import FROM_THE_START, Injected
from edgewear.job.log import Entry, Kind
from edgewear.layout import TICK_S
from edgewear.procedure import fault_play, fault_runs
from edgewear.procedure.fault_plan import DRAWN
from edgewear.procedure.fault_runs import (
    MOST_AT_ONCE,
    MOST_STAGES,
    FaultRuns,
    _happened_s,
    _or_never,
    _words,
    trial_of,
)
from edgewear.procedure.seeing import Seen
from edgewear.procedure.timeline import timeline
from edgewear.scenario import load_text
from edgewear.scenario.models import faults as typed
from edgewear.scenario.text.quantities import Measured
from edgewear.study.worker_pool import Inline, WorkerPool
from support.planted.sound import text_of

KINDS = (typed.AttendantAway(), typed.LateReaction(), typed.WrongRope(rope="thin", person="ann"),
         typed.UnknownEdge(), typed.StopperMissing(person="ann"))  # fmt: skip


def runs_of(combinations, replicates, horizon_s: float = 0.0) -> FaultRuns:
    return FaultRuns("", "", None, "it", 0, tuple(combinations), tuple(replicates), horizon_s)


@pytest.mark.parametrize("seed", range(20))
def test_every_run_is_played_once_with_those_that_are_rigged_alike(seed: int) -> None:
    dice = random.Random(seed)
    combinations, replicates = [()], [dice.randint(0, 4)]
    for k in range(dice.choice([3, 30, 90])):
        some = dice.choices(KINDS, k=dice.randint(1, 2))
        combinations.append(tuple(Injected(f"{k} {j}", one) for j, one in enumerate(some)))
        replicates.append(dice.randint(0, 4))
    runs = runs_of(combinations, replicates)
    played = Counter((index, run) for indices, run in runs.chunks for index in indices)
    expected = [(k, run) for k, count in enumerate(replicates) for run in (None, *range(count))]
    assert played == Counter(expected)
    for indices, _ in runs.chunks:
        assert 0 < len(indices) <= MOST_AT_ONCE
        rigged = {
            tuple(one.name for one in combinations[index] if isinstance(one.fault, FROM_THE_START))
            for index in indices
        }
        assert len(rigged) == 1
    assert runs.most == max(1, *replicates)


def a_fault(rate_s: float | None, tick: int | None) -> Injected:
    rate = None if rate_s is None else Measured.exact(rate_s, "1/s")
    return Injected("it", typed.AttendantAway(rate=rate, source="a guess"), tick=tick)


@pytest.mark.parametrize("rate_s", [1e-6, 1e-3, 0.5])
@pytest.mark.parametrize("share", [0.0, 0.1, 0.5, 0.99])
def test_a_rated_fault_comes_within_the_job_as_late_as_its_share_says(rate_s, share) -> None:
    """P(before t) / P(before the end) is the share, for a constant rate; to the half tick."""
    horizon_s = 3600.0
    one = runs_of([()], [1], horizon_s)._timed(a_fault(rate_s, DRAWN), share)
    assert one.tick is not None
    early, late = (1.0 - exp(-rate_s * (one.tick + d) * TICK_S) for d in (-1, 1))
    whole = 1.0 - exp(-rate_s * horizon_s)
    assert early - 1e-12 <= share * whole <= late + 1e-12  # differences of numbers near one
    assert 0 <= one.tick * TICK_S <= horizon_s


@pytest.mark.parametrize(
    "one", [a_fault(None, None), a_fault(0.1, None), a_fault(0.1, 5), a_fault(0.1, 0),
            a_fault(None, DRAWN), a_fault(0.0, DRAWN)]
)  # fmt: skip
def test_any_other_fault_comes_when_it_would(one: Injected) -> None:
    assert runs_of([()], [1], 3600.0)._timed(one, 0.5) == one


LOG = [
    Entry(0, "ann", Kind.BEGINS, 1, "descend 3 m"), Entry(5, "bob", Kind.BEGINS, 1, "rest"),
    Entry(9, "rain", Kind.FAULT), Entry(12, "rain", Kind.FAULT), Entry(20, "ann", Kind.ENDS, 1),
    Entry(20, "ann", Kind.BEGINS, 2, "work"), Entry(40, "bob", Kind.BEGINS, 2, "ascend"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("who", "tick", "words"),
    [
        ("ann", 10, "ann, step 1: descend 3 m"),
        ("ann", 20, "ann, step 2: work"),
        ("ann", 50, "ann, step 2: work"),
        ("bob", 30, "bob, step 1: rest"),
        ("edge attendant", 30, "edge attendant, during ann step 2: work"),
        ("edge attendant", 10, "edge attendant, during bob step 1: rest"),
        ("bob", 2, "bob, during ann step 1: descend 3 m"),
    ],
)
def test_who_saw_it_did_so_in_their_own_step_or_in_the_one_begun_last(who, tick, words) -> None:
    assert _words(Seen(tick, who), LOG) == words


def test_before_anybody_has_begun_the_name_is_all_there_is() -> None:
    assert _words(Seen(0, "bob"), LOG[1:]) == "bob"


def test_a_fault_happens_when_it_first_stands_in_the_log_or_never() -> None:
    assert _happened_s(LOG, "rain") == 9 * TICK_S
    assert _happened_s(LOG, "ann") == inf  # whose name is another's
    assert [_or_never(time_s) for time_s in (0.0, 5.0, nan)] == [0.0, 5.0, inf]


def test_a_run_that_is_written_down_for_a_picture_is_the_run_that_is_not() -> None:
    scenario = load_text(text_of("pick-off", {}), "made.yaml")
    runs = FaultRuns(scenario.source, scenario.path, scenario.library_source, "as written", 0,
                     ((),), (1,))  # fmt: skip
    sums = runs.nominal()
    most = {row["line"]: row["demand_max"] for row in edge_rows(sums.player)}
    course = timeline(runs, 0)
    assert {one.line for one in course.demand} >= set(most)
    for one in course.demand:
        assert list(one.demand) == sorted(one.demand)  # wear only adds up
        assert (one.time_s[0], one.demand[0]) == (0.0, 0.0)
        assert one.time_s[-1] <= sums.ticks * TICK_S
        assert one.demand[-1] <= most.get(one.line, 0.0)
        assert (one.demand[-1] > 0.0) == (most.get(one.line, 0.0) > 0.0)


@pytest.mark.parametrize(
    ("total", "asked", "width"),
    [(1, None, 1), (63, None, 1), (64, None, 2), (9999, None, 2), (9999, 1, 1), (1, 3, 3)],
)
def test_few_runs_are_played_in_one_process_unless_more_are_asked_for(
    total, asked, width, monkeypatch
) -> None:
    """A worker costs as much as 64 runs; no worker is started until there is something to do."""
    monkeypatch.setattr(fault_play, "processes", lambda workers: WorkerPool(Inline, workers))
    with fault_play.hands_for(total, asked) as gang:
        assert gang.width == width


def test_whoever_stops_it_is_told_that_nothing_is_kept(monkeypatch) -> None:
    left = []
    monkeypatch.setattr(
        fault_play, "inline", lambda: WorkerPool(Inline, 1, partial(left.append, 1))
    )
    said = "nothing is kept, the same command begins anew"
    with pytest.raises(Interrupted, match=said), fault_play.hands_for(1, None):
        raise Interrupted("Ctrl-C")
    assert left == [1]  # the workers are let go


@pytest.mark.parametrize(
    ("index", "run", "words"),
    [(0, None, "nothing left to chance, from no fault on"), (1, 3, "trial 3, from rain on"),
     (2, 0, "trial 0, from rain and snow on")],
)  # fmt: skip
def test_who_kills_its_workers_is_told_by_its_faults_and_its_trial(index, run, words) -> None:
    rain, snow = (Injected(name, typed.AttendantAway()) for name in ("rain", "snow"))
    runs = runs_of([(), (rain,), (rain, snow)], [4, 4, 4])
    with pytest.raises(UsageError) as refused:
        fault_play._blame(runs, [((index,), run)])(0)
    assert str(refused.value).endswith(f": {words}")


def test_a_run_that_cannot_be_computed_is_a_trial_in_which_nothing_came(monkeypatch) -> None:
    scenario = load_text(text_of("pick-off", {}), "made.yaml")
    runs = FaultRuns(scenario.source, scenario.path, scenario.library_source, "as written", 0,
                     ((),), (1,))  # fmt: skip

    def perform(*given, **more):
        raise RunFailed("too stiff")

    monkeypatch.setattr(run_job, "perform", perform)
    [trial] = runs.trials((), 1)
    assert isnan(trial.margin)
    assert trial[1:5] == (inf,) * 4
    assert trial[5:] == ("", False, "", (), "too stiff")
    with pytest.raises(UsageError, match="trial 0 can no longer be computed"):
        runs.fates_in(0, 0)


@pytest.mark.parametrize("shift", [1, 2])
def test_further_runs_meet_the_worlds_behind_those_that_were_met(shift: int) -> None:
    scenario = load_text(text_of("pick-off", {}), "made.yaml")
    first = FaultRuns(scenario.source, scenario.path, scenario.library_source, "as written", 0,
                      ((),), (4,))  # fmt: skip
    met = first.trials((), 4)
    assert replace(first, shift=shift).trials((), 2) == met[shift : shift + 2]
    assert len({one.margin for one in met}) == len(met)


def test_a_worker_keeps_what_it_compiled_and_not_without_end(monkeypatch) -> None:
    compiled = []

    def compile_(runs, there, most):
        compiled.append(most)
        return compiled

    monkeypatch.setattr(FaultRuns, "_compiled", compile_)
    monkeypatch.setattr(fault_runs, "_STAGES", kept := {})
    runs, late = runs_of([()], [1]), (Injected("it", typed.AttendantAway()),)
    for most in [*range(MOST_STAGES)] * 2:
        runs.stage((), most)
        runs.stage(late, most)  # changes nothing that is there at the start
    assert compiled == [*range(MOST_STAGES)]
    for most in range(99):
        runs.stage((), most)
        replace(runs, shift=1).stage((Injected("it", typed.UnknownEdge()),), most)
        assert len(kept) <= MOST_STAGES
    assert len(compiled) > 99


def test_how_far_it_is_is_told_whenever_a_world_has_been_played() -> None:
    told = []
    count = fault_play._teller(9, told.append)
    for more in (2, 0, 4):
        count(more)
    assert [(one.done, one.rows) for one in told] == [(2, 9), (2, 9), (6, 9)]
    fault_play._teller(9, None)(2)  # nobody asks


def _read(log, gravity, faults=()):
    """A run of which no more is read than its log, with nobody on the ropes."""
    names = [one.name for one in faults]
    came = [e.tick for e in log if e.kind is Kind.FAULT and e.who in names]
    return SimpleNamespace(
        faults=faults, gravity=lambda without: gravity, fault_tick=max(came, default=0),
        first_tick=min(came, default=0), log=log, final=SimpleNamespace(people={}),
    )  # fmt: skip


@pytest.mark.parametrize("fault_tick", [0, 10, 20, 21, None])
def test_who_sees_counts_from_the_first_fault_on_and_the_time_to_act_from_the_last(
    fault_tick, monkeypatch
) -> None:
    """Ann sees something at 20, and Bob at 30; a fault that never came is not seen."""
    row = {"sheath_margin": 0.5, "core_visible_time_s": nan, "parted_time_s": 7.0,
           "worst_line": "a line", "worst_edge": "lip"}  # fmt: skip
    monkeypatch.setattr(outcome, "run_row", lambda player, ticks: [row])
    log = [Entry(0, "ann", Kind.BEGINS, 1, "rest"), Entry(5, "rain", Kind.FAULT),
           Entry(20, "ann", Kind.SEES), Entry(25, "bob", Kind.CALLS),
           Entry(30, "bob", Kind.SEES)]  # fmt: skip
    if fault_tick is not None:
        log.append(Entry(fault_tick, "it", Kind.FAULT))
    faults = (Injected("rain", typed.AttendantAway()), Injected("it", typed.AttendantAway()))
    log.sort(key=lambda one: one.tick)
    done = SimpleNamespace(player=None, ticks=99, log=log)
    found = trial_of(_read(done.log, (2, 0), faults), done)
    last = None if fault_tick is None else max(fault_tick, 5)
    seen = None if last is None else 20 if last <= 20 else 30
    assert found.fault_s == (inf if last is None else last * TICK_S)
    assert found.seen_s == (inf if seen is None else seen * TICK_S)
    assert found.seen_by.partition(",")[0] == ("" if seen is None else "ann")
    assert (found.margin, found.core_s, found.parted_s) == (0.5, inf, 7.0)
    assert (found.worst, found.gravity, found.fell) == ("a line at lip", (2, 0), False)
    log.append(Entry(40, "ann", Kind.FALLS))
    assert trial_of(_read(done.log, ()), done).fell
    assert trial_of(_read(done.log, ()), done).fault_s == 0.0
