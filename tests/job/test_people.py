"""Several people side by side: kit, events, looks, breaks, and time that adds up."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from edgewear.errors import Deadlock
from edgewear.job.steps import (
    Ascend,
    CrossEdge,
    Descend,
    Event,
    HangOn,
    Haul,
    PassReAnchor,
    Rest,
    TakeOver,
    WaitFor,
)
from edgewear.job.worker import Halt, Pause, Station
from edgewear.layout import Kind
from edgewear.scenario.text.quantities import Measured
from support.job_fakes import SECOND, Stage


class Take:
    """Takes a piece of kit and keeps it for a while, or for good."""

    def __init__(self, word: str, use: str, duration_s: float = 0.0, keep: bool = True) -> None:
        self.word, self.use, self.duration_s, self.keep = word, use, duration_s, keep

    def perform(self, worker, site):
        yield from site.kit.take(worker, self.word, self.use)
        yield from worker.stay(self.duration_s)
        if not self.keep:
            site.kit.give_back(self.word, self.use)


def test_a_wait_ends_when_the_event_is_raised() -> None:
    stage = Stage("first", "second")
    stage.start("first", Rest(7.0), Event("ready"))
    stage.start("second", WaitFor("ready"), Rest(1.0))
    stage.job.run()
    assert (7 * SECOND, "second", "ends") in stage.told("ends")
    assert stage.workers["second"].account.times == (8 * SECOND, 0, 7 * SECOND, SECOND)


def test_people_wait_for_kit_that_others_have_and_get_it_when_it_is_back() -> None:
    stage = Stage("first", "second", kit={"pad": 1})
    stage.start("first", Take("pad", "edge", 5.0, keep=False))
    stage.start("second", Take("pad", "other edge", 2.0))
    stage.job.run()
    assert stage.told("ends") == [(5 * SECOND, "first", "ends"), (7 * SECOND, "second", "ends")]
    assert stage.site.kit.out("pad") == 0  # packed up at the end


def test_a_circular_wait_for_kit_is_reported_with_people_and_kit() -> None:
    stage = Stage("first", "second", kit={"pad": 1, "sling": 1})
    stage.start("first", Take("pad", "a"), Rest(1.0), Take("sling", "a"))
    stage.start("second", Take("sling", "b"), Rest(1.0), Take("pad", "b"))
    with pytest.raises(Deadlock) as stuck:
        stage.job.run()
    said = str(stuck.value)
    for part in ("first", "second", "sling", "pad", "job/first/3", "job/second/3"):
        assert part in said


def test_an_event_nobody_raises_is_reported_even_to_somebody_with_breaks() -> None:
    stage = Stage("only")
    hours = SimpleNamespace(
        length=Measured.exact(100.0, "s"), break_every=Measured.exact(10.0, "s"),
        break_=Measured.exact(2.0, "s"),
    )  # fmt: skip
    stage.start("only", WaitFor("godot"), shift=hours)
    with pytest.raises(Deadlock, match="godot"):
        stage.job.run()


def test_a_break_cuts_the_movement_and_the_rest_of_it_is_made_after() -> None:
    stage = Stage("only")
    hours = SimpleNamespace(
        length=Measured.exact(1000.0, "s"), break_every=Measured.exact(40.0, "s"),
        break_=Measured.exact(30.0, "s"),
    )  # fmt: skip
    stage.start("only", CrossEdge("e", 1.5, 60.0), shift=hours)
    stage.job.run()
    # 40 s of 60, a break of 30 s, the last 20 s
    assert stage.told("ends") == [(90 * SECOND, "only", "ends")]
    assert stage.workers["only"].account.times == (90 * SECOND, 60 * SECOND, 0, 30 * SECOND)


def test_the_shift_ends_the_plan() -> None:
    stage = Stage("only")
    hours = SimpleNamespace(length=Measured.exact(50.0, "s"), break_every=None, break_=None)
    stage.start("only", HangOn(3.0), Descend(100.0), shift=hours)
    stage.job.run()
    assert stage.told("stops") == [(50 * SECOND, "only", "stops")]


def test_a_haul_moves_the_other_persons_line() -> None:
    stage = Stage("below", "above")
    stage.start("below", HangOn(10.0), Event("hanging"), WaitFor("up"))
    stage.start("above", WaitFor("hanging"), Haul("below", 4.0, 0.1, 0.5), Event("up"))
    stage.job.run()
    kinds = [Kind(move.kind).name for move, _ in stage.lines["below"].moves]
    assert kinds == ["LOAD", "FEED"]
    assert stage.workers["below"].depth_m == pytest.approx(6.0)  # rounding of a difference
    assert stage.lines["above"].moves == []


def test_taking_over_moves_the_weight_from_one_line_to_the_other() -> None:
    stage = Stage("casualty", "rescuer")
    stage.start("casualty", HangOn(10.0), Event("hanging"), WaitFor("taken"))
    stage.start(
        "rescuer", WaitFor("hanging"), HangOn(9.0), TakeOver("casualty", 60.0), Event("taken")
    )
    stage.job.run()
    assert Kind(stage.lines["casualty"].moves[-1][0].kind) == Kind.UNLOAD
    last = stage.lines["rescuer"].moves[-1][0]
    assert (Kind(last.kind), last.mass_kg) == (Kind.LOAD, 200.0)  # 100 kg each


def test_fatigue_grows_with_strokes_and_rest_takes_it_away() -> None:
    stage = Stage("only")
    worker = stage.workers["only"]
    worker.fatigue = 0.8
    stage.start("only", Rest(600.0))
    stage.job.run()
    # one recovery time leaves exp(-1) of it; the tolerance is rounding
    assert worker.fatigue == pytest.approx(0.8 * np.exp(-1.0), rel=1e-12)


def pausing(lasting_s: float):
    def pause(worker):
        yield from worker.stay(lasting_s)

    return pause


def total_m(line, kind: Kind) -> float:
    return sum(move.length_m * share for move, share in line.moves if move.kind == kind)


@pytest.mark.parametrize("runs", [100, pytest.param(2000, marks=pytest.mark.long)])
def test_interrupts_at_random_ticks_lose_and_double_nothing(runs) -> None:
    for seed in range(runs):
        rng = np.random.default_rng(seed)
        stage = Stage("ann", "bob", kit={"pad": 1})
        pause = pausing(float(rng.uniform(0, 20)))

        def disturb(stage=stage, rng=rng, pause=pause):
            for _ in range(int(rng.integers(1, 8))):
                yield stage.env.timeout(int(rng.integers(0, 40 * SECOND)))
                name = ("ann", "bob")[int(rng.integers(2))]
                stage.job.interrupt(stage.workers[name], Pause("told to", pause))

        for name in ("ann", "bob"):
            stage.start(
                name, Take("pad", name, 3.0, keep=False), HangOn(12.0), Descend(7.0), Rest(20.0),
                Ascend(9.0),
            )  # fmt: skip
        stage.env.process(disturb())
        stage.job.run()
        for name, line in stage.lines.items():
            worker = stage.workers[name]
            # sums of parts of a movement: rounding only
            assert total_m(line, Kind.PAYOUT) == pytest.approx(7.0, abs=1e-6)
            assert total_m(line, Kind.STROKES) == pytest.approx(9.0, abs=1e-6)
            assert worker.depth_m == pytest.approx(10.0, abs=1e-6)
            spent = worker.account.times
            assert spent.activity + spent.waiting + spent.rest == spent.shift
        assert stage.site.kit.out("pad") == 0


def test_who_is_told_to_stop_stops_and_gives_everything_back() -> None:
    for tick in range(0, 40 * SECOND, 3 * SECOND + 1):
        stage = Stage("ann", "bob", kit={"pad": 1})
        for name in ("ann", "bob"):
            stage.start(name, Take("pad", name, 10.0, keep=False), HangOn(3.0), Descend(2.0))

        def stop(tick=tick, stage=stage):
            yield stage.env.timeout(tick)
            stage.job.interrupt(stage.workers["ann"], Halt("told to"))

        stage.env.process(stop())
        stage.job.run()
        assert stage.site.kit.out("pad") == 0
        spent = stage.workers["ann"].account.times
        assert spent.activity + spent.waiting + spent.rest == spent.shift


@pytest.mark.parametrize("fault", [False, True])
def test_a_pause_does_not_change_how_a_step_is_done_but_a_fault_does(fault) -> None:
    """A climb that its step asks to make jerkily goes on so after a break."""
    stage = Stage("ann")
    worker = stage.workers["ann"]
    patterns = {"normal": 0, "jerky": 1, "exhausted": 2}
    worker.case.patterns = tuple(worker.case.patterns[0]._replace(technique=t) for t in patterns)
    worker.case.pattern = lambda person, technique, system="": patterns[technique]

    def stop_for_a_while(who):
        if fault:
            who.technique = "exhausted"
        yield from who.rest(5.0)

    def tell():
        yield stage.env.timeout(4 * SECOND)
        stage.job.interrupt(worker, Pause("break", stop_for_a_while))

    stage.env.process(tell())
    stage.start("ann", HangOn(9.0), Ascend(4.0, "jerky"), Ascend(1.0, "jerky"))
    stage.job.run()
    climbed = [move.pattern for move, _ in stage.lines["ann"].moves if move.kind == Kind.STROKES]
    assert climbed == ([1, 2, 2] if fault else [1, 1, 1])


def test_a_typed_speed_is_kept_after_a_pause() -> None:
    stage = Stage("ann")

    def pause(who):
        yield from who.rest(5.0)

    def tell():
        yield stage.env.timeout(4 * SECOND)
        stage.job.interrupt(stage.workers["ann"], Pause("break", pause))

    stage.env.process(tell())
    stage.start("ann", HangOn(2.0), Descend(3.0, 0.2, 9.0))
    stage.job.run()
    speeds = [m.speed_m_s for m, _ in stage.lines["ann"].moves if m.kind == Kind.PAYOUT]
    assert speeds == [0.2, 0.2]


def test_passing_a_re_anchor_takes_as_long_as_the_step_says() -> None:
    stations = (Station(0, "upper", 0.0, 4.0, "top"), Station(1, "lower", 4.0, 99.0, "bolt"))
    for lasting, ends in ((None, 120.0), (30.0, 30.0)):
        stage = Stage("ann", stations=stations)
        stage.start("ann", HangOn(4.0), PassReAnchor("bolt", lasting))
        stage.job.run()
        assert (ends * SECOND, "ann", "ends") in stage.told("ends")
