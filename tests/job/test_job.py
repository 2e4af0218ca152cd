"""The job alone, on a line that only takes time: order, accounting and reactions."""

from __future__ import annotations

import pytest

from edgewear.job.log import Kind
from edgewear.job.steps import Ascend, CrossEdge, Descend, LowerUnloaded, Repeat, Rest
from edgewear.job.travel import HANGING_BELOW_M
from edgewear.job.worker import Station
from support.job_fakes import SECOND, Stage

TWO = (Station(0, "upper", 0.0, 4.0), Station(1, "lower", 4.0, float("inf")))


def test_steps_follow_each_other_without_a_gap() -> None:
    stage = Stage("lead")
    stage.start("lead", CrossEdge("edge", 1.5, 60.0), Rest(30.0), Ascend(1.0))
    stage.job.run()
    spans = [(e.tick, e.what, e.step) for e in stage.log.entries if e.what in ("begins", "ends")]
    # 1 m in strokes of 0.4 m and 2 s takes 5 s in the fake
    assert spans == [
        (0, "begins", 1), (60 * SECOND, "ends", 1),
        (60 * SECOND, "begins", 2), (90 * SECOND, "ends", 2),
        (90 * SECOND, "begins", 3), (95 * SECOND, "ends", 3),
    ]  # fmt: skip


def test_a_descent_passes_the_fixed_point_and_an_ascent_passes_it_back() -> None:
    stage = Stage("lead", stations=TWO)
    stage.start("lead", CrossEdge("e", 1.5, 0.0), Descend(10.0), Ascend(10.0))
    stage.job.run()
    passed = [e.detail for e in stage.log.entries if e.what == "ends" and "pass" in e.detail]
    assert passed == ["pass to lower", "pass to upper"]
    loads = [kind for _, kind, _ in stage.lines["lead"].made if kind in ("LOAD", "UNLOAD")]
    assert loads == ["LOAD", "UNLOAD", "LOAD", "UNLOAD", "LOAD"]
    # exact but for rounding of the sums
    assert stage.workers["lead"].depth_m == pytest.approx(1.5)


def test_a_person_hangs_below_the_point_they_passed() -> None:
    stage = Stage("lead", stations=TWO)
    stage.start("lead", CrossEdge("e", 1.5, 0.0), Descend(2.6))
    stage.job.run()
    assert stage.workers["lead"].depth_m == 4.0 + HANGING_BELOW_M


def test_repeat_makes_its_steps_so_many_times() -> None:
    stage = Stage("lead")
    steps = (Ascend(2.0), LowerUnloaded(2.0))
    stage.start("lead", CrossEdge("e", 8.0, 0.0), Repeat(4, steps))
    stage.job.run()
    assert [kind for _, kind, _ in stage.lines["lead"].made].count("STROKES") == 4
    assert stage.workers["lead"].depth_m == pytest.approx(8.0)  # rounding of the sums


@pytest.mark.parametrize(("reaction", "share"), [("stop", 0.5), ("carry on", 1.0)])
def test_stop_cuts_the_movement_at_that_tick_and_carry_on_does_not(reaction, share) -> None:
    stage = Stage("lead", reactions={"core visible": reaction})

    def watcher():
        yield stage.env.timeout(5 * SECOND)
        stage.job.happened(Kind.CORE_VISIBLE, "line", 1)

    stage.start("lead", CrossEdge("e", 1.5, 10.0), Rest(1.0))
    stage.env.process(watcher())
    stage.job.run()
    made = [entry for entry in stage.lines["lead"].made if entry[1] == "HOLD"]
    assert made[0] == (0, "HOLD", share)
    assert len(made) == (1 if reaction == "stop" else 2)


def test_people_begin_in_the_order_of_the_scenario() -> None:
    stage = Stage("zoe", "abe")
    for name in ("zoe", "abe"):
        stage.start(name, Rest(1.0))
    stage.job.run()
    assert stage.told() == [
        (0, "zoe", "begins"), (0, "abe", "begins"),
        (SECOND, "zoe", "ends"), (SECOND, "abe", "ends"),
    ]  # fmt: skip
