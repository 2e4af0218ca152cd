"""A sweep runs what its study declares, every row of it, and any row again."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from hypothesis import given
from hypothesis import strategies as st

import edgewear.cli.commands  # noqa: F401 (commands stand in the order in which it registers them)
from edgewear import records
from edgewear.cli.studies import _estimate
from edgewear.dataset.reading import open_dataset
from edgewear.errors import Mismatch, ScenarioError, UsageError
from edgewear.layout import TICK_S
from edgewear.study.model import ScenarioModel
from edgewear.study.plan import (
    CHUNKS_ENOUGH,
    LONGEST_STEPS_A_CHUNK,
    MOST_ROWS_A_CHUNK,
    chunk_rows,
)
from edgewear.study.replay import replay
from edgewear.study.sweeping.estimate import START_S, seconds_of
from edgewear.study.sweeping.levers import lever_of
from edgewear.study.sweeping.sweep import Estimate, _enough, dry_run, prepare, sweep
from edgewear.study.sweeping.sweep_plan import kept_points
from edgewear.study.worker_pool import Inline
from support.studies import SLEEVE as BASE
from support.studies import bytes_of

GRID = """\
study:
  grid:
    options: [sleeve, bare]
    edges/arris/radius: [1 mm, 3 mm]
    people/climber/mass: {from: 70 kg, to: 90 kg, steps: 3}
    options/*/over/1/after: [5 m, 9 m]
  skip: [{options: sleeve, edges/arris/radius: 1 mm}]
  seed: 7
"""

SAMPLE = """\
study:
  grid: {people/climber/technique: [jerky, smooth]}
  sample: {method: latin hypercube, rows: 6, over: [friction, edges/arris/roughness, body]}
  replicates: 2
  seed: 3
"""


@pytest.fixture
def write(tmp_path):
    def written(study, base=BASE):
        path = tmp_path / "study.yaml"
        path.write_text(base + study)
        return path

    return written


def rows_of(folder):
    dataset = open_dataset(folder)
    plan, runs = dataset.plan().to_pandas(), dataset.runs().to_pandas()
    return plan.merge(runs, on="run")


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


def test_a_table_in_csv_and_in_parquet_gives_the_same_rows(write, tmp_path):
    header = ["options", "people/climber/mass", "edges/arris/radius", "people/climber/technique"]
    rows = [["bare", 71.5, "1 mm", "jerky"], ["sleeve", 84.25, "2 mm", "smooth"]]
    with (tmp_path / "runs.csv").open("w", newline="") as stream:
        csv.writer(stream).writerows([header, *rows])
    pq.write_table(
        pa.table(dict(zip(header, zip(*rows, strict=True), strict=True))), tmp_path / "runs.parquet"
    )
    for kind in ("csv", "parquet"):
        sweep(
            write(f"study: {{table: runs.{kind}, seed: 1}}\n"), tmp_path / kind, executor=Inline()
        )
    one, other = rows_of(tmp_path / "csv"), rows_of(tmp_path / "parquet")
    assert one.equals(other)
    assert one["option"].tolist() == ["bare", "sleeve"]
    assert one["people/climber/mass"].tolist() == [71.5, 84.25]
    assert one["edges/arris/radius"].tolist() == [0.001, 0.002]


@pytest.mark.parametrize(
    ("rows", "message"),
    [
        (
            "options,people/climber/mass\nbare,7\n\nbare,x\n",
            "4:6: people/climber/mass: 'x' does not",
        ),
        ("options,people/climber/mass\nbare,7\nbore,70\n", "3:1: options: 'bore' is not defined"),
        ('options,"people/climbr/mass"\nbare,70\n', "1:9: people/climbr/mass: leads nowhere"),
        ("options,people/climber/mass\nbare,70 kg\nbare,70 mm\n", "3:6: .*a mass is due, in kg"),
        ("options,people/climber/mass\nbare,70\nbare,-5\n", "3:6: .*must be above 0 kg"),
        ("options,people/climber/mass\nbare,inf\n", "2:6: .*not a finite number"),
        ("options,people/climber/mass,options\nbare,70,bare\n", "1:1: options: two columns"),
        ("options,people/climber/mass\nbare,70,3\n", "2:1: 3 cells under 2 headings"),
        ("options,people/climber/mass\n", "no rows"),
    ],
)
def test_a_table_that_cannot_be_used_is_said_so(rows, message, write, tmp_path):
    (tmp_path / "runs.csv").write_text(rows)
    with pytest.raises(ScenarioError, match=rf"runs\.csv:.*{message}"):
        prepare(write("study: {table: runs.csv}\n"))


def test_every_bad_cell_of_a_table_is_told_at_once(write, tmp_path):
    (tmp_path / "runs.csv").write_text(
        "options,people/climber/mass,edges/arris/radius\nbare,70 mm,1 mm\nbore,70 kg,2 kg\n"
    )
    with pytest.raises(ScenarioError) as told:
        prepare(write("study: {table: runs.csv}\n"))
    assert [(p.line, p.column, p.address) for p in told.value.problems] == [
        (2, 6, "people/climber/mass"),
        (3, 1, "options"),
        (3, 12, "edges/arris/radius"),
    ]


def test_a_bad_cell_of_a_parquet_table_is_told_by_its_row(write, tmp_path):
    columns = {"options": ["bare", "bare"], "people/climber/mass": ["70 kg", "70 mm"]}
    pq.write_table(pa.table(columns), tmp_path / "runs.parquet")
    with pytest.raises(ScenarioError, match="people/climber/mass: row 2: '70 mm' is a length"):
        prepare(write("study: {table: runs.parquet}\n"))


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


def test_replay_gives_every_row_again_bit_for_bit(write, tmp_path):
    sweep(write(SAMPLE), tmp_path / "out", executor=Inline())
    for run in (0, 5, 23, 47):
        again = replay(tmp_path / "out", run)
        assert (again.same, again.exact, again.differences) == (True, True, ())
        assert again.outcome["run"] == run
    with pytest.raises(UsageError, match="rows 0 to 47"):
        replay(tmp_path / "out", 48)


TWICE = BASE.replace("job: [{ascend: 1 m}]", "job: [{ascend: 1 m}, {descend: 1 m}, {ascend: 2 m}]")
"""Long enough on a 1 mm arris, with a sheath that takes little, for the core to show."""

WORN = """\
study:
  grid: {edges/arris/radius: [0.3 mm, 0.5 mm], people/climber/technique: [jerky, smooth]}
  sample: {method: sobol, rows: 2, over: [wear, body, technique]}
  seed: 3
"""


def test_replay_writes_what_happened_the_wear_and_the_course_of_a_row(write, tmp_path):
    sweep(write(WORN, TWICE), tmp_path / "out", executor=Inline())
    runs = open_dataset(tmp_path / "out").runs(["core_visible_time_s"]).to_pydict()
    seen = np.flatnonzero(np.isfinite(runs["core_visible_time_s"]))
    never = np.flatnonzero(~np.isfinite(runs["core_visible_time_s"]))
    for run in (int(seen[0]), int(never[0])):
        again = replay(tmp_path / "out", run, tmp_path / "traces")
        assert again.same
        events, wear, course = (pd.read_parquet(path) for path in again.traces)
        assert [Path(path).name for path in again.traces] == [
            f"{name}-{run}.parquet" for name in ("events", "wear", "timeline")
        ]
        outcome = again.outcome
        # the worst cell of the profile is the row's demand, read by two summations of one field
        assert wear["demand"].max() == pytest.approx(outcome["sheath_demand_max"], rel=1e-9)
        # the course has a step's end as its last stage foresaw it, the peak the next step's start:
        # they differ by what a step errs, 1e-5 at most
        assert course["tension_n"].max() <= outcome["peak_tension_n"] * (1 + 1e-5)
        assert course["time_s"].is_monotonic_increasing
        steps = events[events["what"].isin(["begins", "ends"])]
        assert steps["detail"].tolist() == [
            words for words in ("ascend 1 m", "descend 1 m", "ascend 2 m") for _ in range(2)
        ]
        assert events["tick"].is_monotonic_increasing
        # whole ticks of 0.1 ms
        assert steps["tick"].max() / 10_000 == pytest.approx(outcome["duration_s"], abs=1e-9)
        shown = events[events["what"] == "core visible"]
        assert len(shown) == (run in seen)
        if run in seen:
            assert shown["tick"].item() * TICK_S == outcome["core_visible_time_s"]
            assert shown["value"].item() == outcome["core_visible_ascended_m"]
            assert shown["step"].item() == outcome["core_visible_step"]
            assert shown["detail"].item() == outcome["worst_edge"]


def test_a_traced_row_keeps_the_units_of_its_columns(write, tmp_path):
    sweep(write(SAMPLE), tmp_path / "out", executor=Inline())
    again = replay(tmp_path / "out", 7, tmp_path / "traces")
    for path in map(Path, again.traces):
        columns = records.TABLES[path.name.partition("-")[0]]
        for field, column in zip(pq.read_schema(path), columns, strict=True):
            assert (field.name, field.metadata[b"unit"].decode()) == (column.name, column.unit)


def test_replay_says_what_differs(write, tmp_path, monkeypatch):
    sweep(write(GRID), tmp_path / "out", executor=Inline())
    from edgewear.study import replay as room

    true = room.playing

    def other(model, rows):
        outcome = true(model, rows)
        outcome.runs["slip_m"] *= 1 + 1e-12
        return outcome

    monkeypatch.setattr(room, "playing", other)
    found = replay(tmp_path / "out", 3)
    assert not found.same
    assert found.differences[0].startswith("slip_m: ")
    monkeypatch.setattr(room.manifests, "versions", lambda: {"edgewear": "other"})
    elsewhere = replay(tmp_path / "out", 3)
    assert (elsewhere.exact, elsewhere.same) == (False, True)


@pytest.mark.parametrize(
    ("rows", "chunks", "each", "told"),
    [
        (32, 1, 32, "1 of 32 rows"),
        (640, 2, 320, "2 of 320 rows"),
        (500, 2, 319, "2 of at most 319 rows"),
        (3_000, 2, 1_500, "2 of 1,500 rows"),
    ],
)
def test_a_dry_run_tells_the_rows_that_its_chunks_have(
    rows, chunks, each, told, monkeypatch, capsys
):
    found = Estimate(rows, chunks, each, 1, 1.0, 1000)
    monkeypatch.setattr("edgewear.study.sweeping.sweep.dry_run", lambda file, workers: found)
    _estimate(Path("study.yaml"), 1, json=False)
    assert f"chunks   {told}\n" in capsys.readouterr().out


def test_a_dry_run_counts_and_writes_nothing(write, tmp_path):
    estimate = dry_run(write(SAMPLE), workers=2)
    assert (estimate.rows, estimate.workers) == (48, 2)
    assert estimate.chunks == -(-48 // estimate.rows_a_chunk)
    assert estimate.rows_a_chunk <= estimate.rows
    assert estimate.seconds > 0
    assert [path.name for path in tmp_path.iterdir()] == ["study.yaml"]
    sweep(tmp_path / "study.yaml", tmp_path / "out", executor=Inline())
    written = [tmp_path / "out" / "plan.parquet", *(tmp_path / "out" / "runs").iterdir()]
    # the same tables but for the study's name and the chunk's number in each file
    assert estimate.bytes == pytest.approx(sum(p.stat().st_size for p in written), rel=0.03)


@pytest.mark.parametrize("rows", [10**power for power in range(1, 11)])
@pytest.mark.parametrize("steps", [1.0, 1_500.0, 90_000.0, 1e9])
def test_chunks_are_neither_many_nor_long(rows, steps):
    size = chunk_rows(rows, steps)
    assert 1 <= size <= MOST_ROWS_A_CHUNK
    assert size == 1 or size * steps <= LONGEST_STEPS_A_CHUNK
    many = -(-rows // size) > 2 * CHUNKS_ENOUGH
    assert not many or size == MOST_ROWS_A_CHUNK or (size + 1) * steps > LONGEST_STEPS_A_CHUNK


@pytest.mark.parametrize(("rows", "workers", "turns"), [(100, 1, 100), (100, 2, 50), (100, 9, 40)])
def test_a_chunk_is_not_shared_between_workers(rows, workers, turns):
    plan = SimpleNamespace(rows=rows, chunk_rows=40)  # three chunks, the last one of 20 rows
    assert seconds_of(plan, 0.25, workers) == START_S + 0.25 * turns


MACHINE = """\
edgewear: 1
title: A machine that is asked for too much
setting: test
edges: {arris: {radius: 1 mm, surface: steel}}
ropes: {rope: {like: low-stretch 11, length: 10 m}}
options: {only: {rope: rope, over: [{edge: arris, after: 2 m, bend: 0 deg}]}}
job: [{reciprocate: {load: 120 kg, travel: 0.5 m, speed: 0.2 m/s, cycles: 2}}]
study: {grid: {job/1/reciprocate/cycles: ["2", "1000000000"]}}
"""


@pytest.mark.long
def test_a_run_that_never_ends_is_a_failed_row_and_the_rest_goes_on(tmp_path):
    path = tmp_path / "machine.yaml"
    path.write_text(MACHINE)
    result = sweep(path, tmp_path / "out", executor=Inline())
    assert (result.rows, result.failed) == (2, 1)
    runs = open_dataset(tmp_path / "out").runs(["status", "reason"]).to_pydict()
    assert runs["status"] == ["ok", "failed"]
    assert "budget of steps" in runs["reason"][1]


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


@pytest.mark.parametrize("devices", [1, 2])
@pytest.mark.parametrize("wanted", [None, 1, 5, 8, 9, 40])
def test_a_device_gets_as_many_workers_as_asked_for_and_at_most_eight(wanted, devices, monkeypatch):
    monkeypatch.setattr("edgewear.engine.devices.cuda.check_device", lambda name: devices)
    monkeypatch.setattr("edgewear.study.sweeping.sweep.available_workers", lambda: 12)
    most = {None: 12}.get(wanted, wanted)
    assert _enough(wanted, "cuda") == min(most, 8 * devices)
    assert _enough(wanted, "cpu") == wanted


@pytest.mark.parametrize("device", ["cpu", "cuda"])
@pytest.mark.parametrize("wanted", [0, -1, -9])
def test_fewer_than_one_worker_is_refused_on_a_device_too(
    wanted, device, write, tmp_path, monkeypatch
):
    monkeypatch.setattr("edgewear.engine.devices.cuda.check_device", lambda name: 1)
    with pytest.raises(UsageError, match=f"workers: {wanted}; at least 1 is allowed"):
        sweep(write(SAMPLE), tmp_path / "out", workers=wanted, device=device)
    assert not (tmp_path / "out").exists()


def test_workers_leave_no_trace(write, tmp_path):
    path = write(SAMPLE)
    sweep(path, tmp_path / "here", executor=Inline())
    sweep(path, tmp_path / "two", workers=2)
    assert bytes_of(tmp_path / "here") == bytes_of(tmp_path / "two")


def test_the_shipped_study_can_be_laid_out():
    plan = prepare(Path(__file__).parents[2] / "scenarios" / "sleeve-study.yaml").plan
    assert plan.rows == (2 * 4 * 6 * 10 - 60) * 64
