"""The likelihood under the engine: what is read off after a run is what the engine would say."""

from __future__ import annotations

import numpy as np
import pytest

from edgewear.case import compile_case
from edgewear.engine.batch import play_batch
from edgewear.engine.run_job import record_tape
from edgewear.errors import RunFailed
from edgewear.programme.grown import course_of
from edgewear.programme.learn.engine_target import EngineTarget
from edgewear.programme.learn.sampler import fresh
from edgewear.programme.learn.target import Job
from edgewear.programme.likelihood import FLOOR
from edgewear.programme.model import Figure, Reading
from edgewear.programme.plays import Stage, drawn, figure, played, stages_of
from edgewear.programme.reading import programme_text
from support.programmes import TOWER
from support.short_ropes import just_reaching

RUNS = 24


@pytest.fixture(scope="module")
def target() -> EngineTarget:
    return EngineTarget(programme_text(TOWER))


def test_figures_read_off_are_those_of_the_engine_with_a_rope_that_breaks() -> None:
    test = programme_text(TOWER).tests[0]
    stage = stages_of(test)[1]
    values = drawn(stage.case, RUNS, 2)
    values["wear/sheath energy"] *= 0.2  # so that cores are worn, and some ropes part
    values["wear/core energy"] *= 0.1
    replicates = np.arange(RUNS)
    worn = played(stage, values, replicates, 2)
    runs, _ = play_batch(stage.case, stage.tape, values, replicates, 2, edges=False)
    whole = np.isnan(runs["parted_time_s"])
    assert 0 < whole.sum() < RUNS
    demand, lost = figure("demand", worn), figure("core lost", worn)
    # the same steps, exposure scaled back: rounding
    assert demand[whole] == pytest.approx(runs["sheath_demand_max"][whole], rel=1e-9)
    assert lost[whole] == pytest.approx(runs["core_loss"][whole], abs=1e-9)
    parting = figure("parting", worn)
    # the engine compares the tension of the moment, which is at most the largest one: a rope that
    # parts holds less than that, and exposure between the two tensions is a few per cent
    assert (parting[~whole] >= 1.0).all()
    assert (parting[whole] < 1.05).all()


def test_few_cycles_stand_for_many() -> None:
    test = programme_text(TOWER).tests[3]
    course = course_of(test)
    assert course.off is not None
    assert course.off < 0.005
    values = drawn(course.run[0].case, 4, 3)
    values["wear/rotation"] = np.ones(4)
    stages = stages_of(test, [s for s in course.stages if s is not None and s.value == 20])
    whole = played(stages[0], values, np.arange(4), 3).exposure_j_m
    short = np.stack([played(s, values, np.arange(4), 3).exposure_j_m for s in course.run], axis=1)
    at = [s.value for s in course.stages if s is not None].index(20)
    # wear grows alike in every cycle once the rope has settled: twice what the nominal run allows
    assert course.exposures(short)[:, at] == pytest.approx(whole, rel=0.01)


@pytest.mark.parametrize(("behind", "down"), [(20, 5), (30, 12)])
@pytest.mark.parametrize("then", ["", ", {ascend: 1 m}"])
@pytest.mark.parametrize("spare_m", [0.0, 30.0])  # more than any place of the anchor takes
def test_a_run_that_uses_its_rope_up_teaches_nothing(behind, down, then, spare_m) -> None:
    scenario = just_reaching(behind, down, then, spare_m)
    case = compile_case(scenario, "only")
    stage, values = Stage(None, case, record_tape(scenario, case)), drawn(case, RUNS, 2)
    used_up = np.isnan(played(stage, values, np.arange(RUNS), 2, failing=1.0).exposure_j_m)
    # half of the anchors lie further back than the middle one, whose rope just reaches
    assert used_up.any() == (not spare_m)
    assert not used_up.all()
    if not spare_m:
        with pytest.raises(RunFailed, match="is too short for step 2"):
            played(stage, values, np.arange(RUNS), 2)


def test_numbers_that_need_no_runs_are_found(target: EngineTarget) -> None:
    free = {c.name for c, f in zip(target.layout.shared, target.free, strict=True) if f}
    assert {"wear/sheath energy", "wear/core energy", "severity"} <= free
    assert not free & {"wear/cold share", "edges/arris/friction", "common/damping"}


def test_benches_set_ups_and_batches_share_what_they_share(target: EngineTarget) -> None:
    keys = {column.key for column in target.layout.shared}
    assert "all|wear/sheath energy" in keys
    assert "set-up tower|edges/arris/friction" in keys
    assert "bench cellar|severity" in keys
    private = [{column.key for column in one} for one in target.layout.private]
    assert "batch drum 3|ropes/rope/sheath share" in private[3]
    assert "test T1|ropes/rope/elongation" in private[0]
    assert not private[1] & private[2]  # two samples are two ropes


def test_a_free_number_moves_wear_as_new_runs_would(target: EngineTarget) -> None:
    shared = np.random.default_rng(1).standard_normal((RUNS, target.shared))
    private, strokes = fresh(0, 0, RUNS, target.private[0])
    moved = shared.copy()
    moved[:, target.free] += 0.7
    before, after = target.play([Job(0, s, private, strokes) for s in (shared, moved)])
    # a factor on energies changes no step: the same exposure to the last bit of a product
    for one, other in zip(before.values(), after.values(), strict=True):
        assert one == pytest.approx(other, rel=1e-12, nan_ok=True)


def test_a_row_depends_on_itself_alone(target: EngineTarget) -> None:
    shared = np.random.default_rng(2).standard_normal((RUNS, target.shared))
    private, strokes = fresh(0, 1, RUNS, target.private[1])
    whole = target.play([Job(1, shared, private, strokes)])[0]
    half = slice(RUNS // 2, None)
    part = target.play([Job(1, shared[half], private[half], strokes[half])])[0]
    for name in whole:
        assert np.array_equal(whole[name][half], part[name], equal_nan=True)


def test_a_reading_follows_its_column(target: EngineTarget) -> None:
    shared = np.zeros((4, target.shared))
    private, strokes = fresh(0, 1, 4, target.private[1])
    runs = target.play([Job(1, shared, private, strokes)])[0]
    test = target.programme.tests[1]
    peak = next(o for o in test.seen if isinstance(o, Reading) and o.what == "anchor peak")
    figures = target.figures(1, test, runs, shared, private)
    assert (figures[Figure("anchor peak", peak.after)] == runs["anchor_peak_n"][:, 0]).all()


def test_a_world_that_has_no_run_is_given_up_and_many_are_refused(target: EngineTarget) -> None:
    """A pull of a person that moves nothing, drawn twelve deviations out, made no test."""
    rows = 64
    private, strokes = fresh(0, 0, rows, target.private[0])
    shared = np.zeros((rows, target.shared))
    known = next(u for u in target.layout.known[0] if u.name == "people/climber/force ratio")
    names = {known.name, *(other for other, _ in known.leans)}
    pull = np.array([c.name in names for c in target.layout.shared])
    shared[7, pull] = -12.0
    runs = target.play([Job(0, shared, private, strokes)])[0]
    found = target.log_likelihood(0, runs, shared, private)
    assert [k for k in range(rows) if found[k] == FLOOR] == [7]
    shared[:, pull] = -12.0
    with pytest.raises(RunFailed, match="cannot be made"):
        target.play([Job(0, shared, private, strokes)])
