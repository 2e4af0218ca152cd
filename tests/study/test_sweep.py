"""A sweep runs what its study declares, every row of it, and any row again."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear.errors import Mismatch, ScenarioError
from edgewear.study.model import ScenarioModel
from edgewear.study.sweeping.levers import lever_of
from edgewear.study.sweeping.prepared import prepare
from edgewear.study.sweeping.sweep import sweep
from edgewear.study.sweeping.sweep_plan import kept_points
from edgewear.study.worker_pool import Inline
from support.studies import SLEEVE as BASE
from support.studies import bytes_of
from support.sweeps import GRID, SAMPLE, rows_of


def test_a_grid_runs_every_combination_but_those_skipped(write, tmp_path):
    result = sweep(write(GRID), tmp_path / "out", executor=Inline())
    rows = rows_of(tmp_path / "out")
    assert (result.rows, result.failed) == (len(rows), 0) == (2 * 2 * 3 * 2 - 6, 0)
    columns = ["option", "edges/arris/radius", "people/climber/mass", "options/*/over/1/after"]
    assert not rows.duplicated(columns).any()
    assert sorted(set(rows["people/climber/mass"])) == [70.0, 80.0, 90.0]
    assert sorted(set(rows["options/*/over/1/after"])) == [5.0, 9.0]
    sleeve = rows[rows["option"] == "sleeve"]
    assert set(sleeve["edges/arris/radius"]) == {0.003}


def test_patched_levers_give_what_a_scenario_typed_that_way_gives(write, tmp_path):
    sweep(write(GRID), tmp_path / "out", executor=Inline())
    rows = rows_of(tmp_path / "out")
    mine = rows[
        (rows["option"] == "bare")
        & (rows["edges/arris/radius"] == 0.001)
        & (rows["people/climber/mass"] == 80)
        & (rows["options/*/over/1/after"] == 9)
    ]
    typed = BASE.replace("2 mm", "1 mm").replace("90 kg", "80 kg").replace("10 m,", "9 m,")
    sweep(
        write("study: {grid: {options: [bare]}, seed: 7}\n", typed),
        tmp_path / "one",
        executor=Inline(),
    )
    alone = rows_of(tmp_path / "one")
    for name in ("sheath_demand_max", "peak_tension_n", "slip_m", "energy_j"):
        # patching multiplies by a ratio where compiling computes afresh: a few roundings
        assert mine[name].item() == pytest.approx(alone[name].item(), rel=1e-9)


def test_a_sample_is_the_same_for_every_point_and_spreads_in_every_input(write, tmp_path):
    sweep(write(SAMPLE), tmp_path / "out", executor=Inline())
    rows = rows_of(tmp_path / "out")
    assert len(rows) == 2 * 2 * 6 * 2
    assert set(rows["people/climber/technique"]) == {"jerky", "smooth"}
    name = "edges/arris/friction"
    bare = rows[rows["option"] == "bare"]
    jerky = bare[bare["people/climber/technique"] == "jerky"]
    smooth = bare[bare["people/climber/technique"] == "smooth"]
    assert jerky[name].tolist() == smooth[name].tolist()
    assert jerky[name].nunique() == 6
    assert jerky["replicate"].tolist() == list(range(12))
    assert jerky["duration_s"].nunique() == 12  # strokes differ between replicates
    assert (smooth["duration_s"].to_numpy() > jerky["duration_s"].to_numpy()).all()


def test_what_a_lever_sets_is_not_sampled_as_well(write):
    study = SAMPLE.replace(
        "people/climber/technique: [jerky, smooth]", "people/climber/force ratio: [1.4, 1.6]"
    )
    plan = prepare(write(study)).plan
    assert [c.name for c in plan.columns].count("people/climber/force ratio") == 1
    assert {one.name for one in plan.sampled["bare", ()]} >= {"people/climber/body stiffness"}


def test_a_technique_is_structural_and_a_mass_is_not(write):
    model = ScenarioModel.of(write(""), 0)
    assert lever_of(model, ("bare",), "people/climber/technique", ("jerky", "smooth")).structural
    mass = lever_of(model, ("bare",), "people/climber/mass", ("70 kg", "80 kg"))
    assert (mass.structural, mass.values, mass.unit) == (False, (70.0, 80.0), "kg")


def test_a_scenario_without_a_study_is_refused(write):
    with pytest.raises(ScenarioError, match="a sweep needs one"):
        prepare(write(""))


def test_a_changed_study_is_refused_and_says_what_changed(write, tmp_path):
    sweep(write(GRID), tmp_path / "out", executor=Inline())
    with pytest.raises(Mismatch, match="seed was 7, now 8"):
        sweep(write(GRID.replace("seed: 7", "seed: 8")), tmp_path / "out", executor=Inline())
    with pytest.raises(Mismatch, match=r"study/grid/edges/arris/radius/2 was .3 mm., now .4 mm."):
        sweep(write(GRID.replace("3 mm", "4 mm")), tmp_path / "out", executor=Inline())
    with pytest.raises(Mismatch, match=r"job/climber/1/height was .1 m., now .2 m."):
        sweep(write(GRID, BASE.replace("1 m}", "2 m}")), tmp_path / "out", executor=Inline())


def test_a_comment_and_a_title_make_no_other_study(write, tmp_path):
    sweep(write(GRID), tmp_path / "out", executor=Inline())
    before = bytes_of(tmp_path / "out" / "runs")
    other = "# looked at again\n" + BASE.replace("A sleeve on", "The sleeve on")
    sweep(write(GRID, other), tmp_path / "out", executor=Inline())
    assert bytes_of(tmp_path / "out" / "runs") == before


SIZES = st.lists(st.integers(1, 4), min_size=1, max_size=4)


@given(SIZES, st.data())
def test_points_kept_are_those_no_row_of_skip_meets(sizes, data):
    axes = [(f"a{i}", tuple(str(v) for v in range(size))) for i, size in enumerate(sizes)]
    skip = data.draw(
        st.lists(
            st.dictionaries(st.sampled_from([a for a, _ in axes]), st.just("0"), min_size=1),
            max_size=3,
        )
    )
    kept = kept_points(axes, skip)
    wanted = []
    for number, place in enumerate(np.ndindex(*sizes)):
        typed = {name: values[i] for (name, values), i in zip(axes, place, strict=True)}
        if not any(all(typed[a] == v for a, v in row.items()) for row in skip):
            wanted.append(number)
    assert wanted == (list(range(int(np.prod(sizes)))) if kept is None else kept.tolist())


def test_any_stretch_of_a_plan_is_the_whole_s(write):
    plan = prepare(write(SAMPLE)).plan
    whole = plan.block(0, plan.rows)
    streamed = replace(plan)
    for first, count in ((0, 7), (5, 20), (47, 1)):
        part = streamed.block(first, count)
        for name, column in part.items():
            same = whole[name][first : first + count]
            if column.dtype == float:
                np.testing.assert_array_equal(column, same)  # NaN where there is none
            else:
                assert column.tolist() == same.tolist()


def test_workers_leave_no_trace(write, tmp_path):
    path = write(SAMPLE)
    sweep(path, tmp_path / "here", executor=Inline())
    sweep(path, tmp_path / "two", workers=2)
    assert bytes_of(tmp_path / "here") == bytes_of(tmp_path / "two")


def test_the_shipped_study_can_be_laid_out():
    plan = prepare(Path(__file__).parents[2] / "scenarios" / "sleeve-study.yaml").plan
    assert plan.rows == (2 * 4 * 6 * 10 - 60) * 64
