"""The job alone, on a line that only takes time: order, accounting and reactions."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
import simpy

from edgewear.case import Pattern
from edgewear.job.job import Job
from edgewear.job.log import Log
from edgewear.job.steps import Ascend, CrossEdge, Descend, LowerUnloaded, Repeat, Rest
from edgewear.job.worker import HANGING_BELOW_M, Station, Worker
from job.fakes import FakeLine

SECOND = 10_000  # ticks


def case() -> SimpleNamespace:
    pattern = Pattern(0, "normal", 0.4, 0.05, 1.0, 0.4, 0.6, 0.5, 0.5, 5.0)
    return SimpleNamespace(person_names=("lead",), patterns=(pattern,), pattern=lambda p, t: 0)


ONE_LINE = (Station(0, "line", 0.0, float("inf")),)


def job(stations=ONE_LINE, reactions=None):
    env, log = simpy.Environment(), Log()
    line = FakeLine(env)
    return Job(env, log, reactions), Worker(env, case(), 0, stations, line, log, "normal"), line


def test_steps_follow_each_other_without_a_gap() -> None:
    work, worker, _ = job()
    plan = [("cross", CrossEdge("edge", 1.5, 60.0)), ("rest", Rest(30.0)), ("up", Ascend(1.0))]
    work.start(worker, plan)
    work.run()
    spans = [(e.tick, e.what, e.step) for e in work.log.entries if e.what in ("begins", "ends")]
    # 1 m in strokes of 0.4 m and 2 s takes 5 s in the fake
    assert spans == [
        (0, "begins", 1), (60 * SECOND, "ends", 1),
        (60 * SECOND, "begins", 2), (90 * SECOND, "ends", 2),
        (90 * SECOND, "begins", 3), (95 * SECOND, "ends", 3),
    ]  # fmt: skip


def test_a_descent_passes_the_fixed_point_and_an_ascent_passes_it_back() -> None:
    stations = (Station(0, "upper", 0.0, 4.0), Station(1, "lower", 4.0, float("inf")))
    work, worker, line = job(stations)
    work.start(worker, [("c", CrossEdge("e", 1.5, 0.0)), ("d", Descend(10.0)), ("a", Ascend(10.0))])
    work.run()
    passed = [e.detail for e in work.log.entries if e.what == "ends" and "pass" in e.detail]
    assert passed == ["pass to lower", "pass to upper"]
    loads = [kind for _, kind, _ in line.made if kind in ("LOAD", "UNLOAD")]
    assert loads == ["LOAD", "UNLOAD", "LOAD", "UNLOAD", "LOAD"]
    assert worker.depth_m == pytest.approx(1.5)  # exact but for rounding of the sums


def test_a_person_hangs_below_the_point_they_passed() -> None:
    stations = (Station(0, "upper", 0.0, 4.0), Station(1, "lower", 4.0, float("inf")))
    work, worker, _ = job(stations)
    work.start(worker, [("c", CrossEdge("e", 1.5, 0.0)), ("d", Descend(2.6))])
    work.run()
    assert worker.depth_m == 4.0 + HANGING_BELOW_M


def test_repeat_makes_its_steps_so_many_times() -> None:
    work, worker, line = job()
    steps = (Ascend(2.0), LowerUnloaded(2.0))
    work.start(worker, [("c", CrossEdge("e", 8.0, 0.0)), ("r", Repeat(4, steps))])
    work.run()
    assert [kind for _, kind, _ in line.made].count("STROKES") == 4
    assert worker.depth_m == pytest.approx(8.0)


@pytest.mark.parametrize(("reaction", "share"), [("stop", 0.5), ("carry on", 1.0)])
def test_stop_cuts_the_movement_at_that_tick_and_carry_on_does_not(reaction, share) -> None:
    work, worker, line = job(reactions={"core visible": reaction})

    def watcher():
        yield work.env.timeout(5 * SECOND)
        work.happened("core visible", "line", 1)

    work.start(worker, [("rest", Rest(10.0)), ("rest", Rest(1.0))])
    work.env.process(watcher())
    work.run()
    assert line.made[0] == (0, "HOLD", share)
    assert len(line.made) == (1 if reaction == "stop" else 2)


def test_people_begin_in_the_order_of_the_scenario() -> None:
    env, log = simpy.Environment(), Log()
    work = Job(env, log)
    for name in ("zoe", "abe"):
        c = case()
        c.person_names = (name,)
        work.start(
            Worker(env, c, 0, (Station(0, "l", 0, 9),), FakeLine(env), log, "normal"),
            [("r", Rest(1.0))],
        )
    work.run()
    assert [(e.tick, e.who, e.what) for e in log.entries] == [
        (0, "zoe", "begins"), (0, "abe", "begins"),
        (SECOND, "zoe", "ends"), (SECOND, "abe", "ends"),
    ]  # fmt: skip
