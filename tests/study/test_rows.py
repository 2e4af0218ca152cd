"""A row of a table is what its values, typed into the scenario's file and run, would be."""

from __future__ import annotations

import random
import shutil
from itertools import combinations

import numpy as np
import pyarrow.parquet as pq
import pytest

from edgewear.dataset.reading import open_dataset
from edgewear.errors import ScenarioError, UsageError
from edgewear.scenario import load_scenario, load_text
from edgewear.study.compare import compare
from edgewear.study.model import ScenarioModel
from edgewear.study.single import simulate
from edgewear.study.sweeping.prepared import prepare
from edgewear.study.sweeping.sweep import sweep
from edgewear.study.task import playing
from edgewear.study.worker_pool import Inline
from support.studies import SLEEVE as BASE
from support.sweeps import SAMPLE, rows_of
from support.typed_rows import (
    SHIPPED,
    addresses,
    as_table,
    as_typed,
    differences,
    options_of,
    pairs_of,
    together,
)
from support.typed_rows import rows_of as rows_in

CLOSE = 1e-9
"""A typed number is spelled in 17 digits and read in another unit: a few roundings, which a run
of some thousand steps enlarges."""

EVERY = [(path, option) for path in SHIPPED for option in options_of(path)]


def compared(path, option, rows, folder):
    """Rows of a table that differ from typed runs, each with what differs."""
    runs = as_table(path, option, rows, folder)
    found = {}
    for number, row in enumerate(rows):
        typed = as_typed(path, option, row, number)[0]
        if different := differences(runs[number], typed, CLOSE):
            found[row] = different
    return found


def test_a_row_equals_its_values_typed_for_some_singles_and_pairs(tmp_path):
    chance = random.Random(15)
    for path in chance.sample(SHIPPED, 3):
        option = chance.choice(options_of(path))
        every = rows_in(path, option, None)
        rows = [chance.choice([row for row in every if len(row) == 1]), chance.choice(every)]
        print(f"{path.stem}, {option}: {len(rows)} rows of {len(every)}: {rows}")
        assert compared(path, option, rows, tmp_path) == {}


@pytest.mark.long
@pytest.mark.parametrize(("path", "option"), EVERY, ids=lambda part: getattr(part, "stem", part))
def test_every_pair_of_addresses_is_typed_together_in_some_row(path, option, tmp_path):
    """Minutes an option, where all pairs one at a time take hours."""
    chance = random.Random(f"{path.stem} {option}")
    left, share, runs = set(pairs_of(path, option)), 0.5, 0
    every = len(left)
    while left:
        rows = together(path, option, left, share, chance)
        played = as_table(path, option, rows, tmp_path)
        assert compared(path, option, rows, tmp_path) == {}
        for row, run in zip(rows, played, strict=True):
            runs += 1
            if run["status"] == "ok":
                left -= set(combinations(row, 2))
        share /= 2.0  # what does not fit together is tried in smaller groups
    print(f"{path.stem}, {option}: {every} pairs in {runs} rows")


@pytest.mark.long
@pytest.mark.parametrize(("path", "option"), EVERY, ids=lambda part: getattr(part, "stem", part))
def test_a_row_equals_its_values_typed_for_all_singles_and_pairs(path, option, tmp_path):
    rows = rows_in(path, option, None)
    print(f"{path.stem}, {option}: {len(rows)} rows")
    assert compared(path, option, rows, tmp_path) == {}


def test_the_radius_exponent_acts_with_the_radius_of_the_row(tmp_path):
    (path,) = [path for path in SHIPPED if path.stem == "reference-ascent"]
    rows = [("edges/arris/radius", "wear/radius exponent")]
    assert {*rows[0]} <= set(addresses(path, "bare"))
    assert compared(path, "bare", rows, tmp_path) == {}


@pytest.mark.parametrize("milder", ["30 mm", "3 mm"])
def test_a_run_whose_rope_lasts_goes_on_where_the_file_s_own_rope_parts(milder, tmp_path):
    (path,) = [path for path in SHIPPED if path.stem == "sleeve-study"]
    text = path.read_text(encoding="utf-8").partition("\nstudy:")[0]
    (tmp_path / "harsh.yaml").write_text(text.replace("radius: 1 mm", "radius: 0.2 mm"))
    (tmp_path / "mild.yaml").write_text(text.replace("radius: 1 mm", f"radius: {milder}"))
    harsh = ScenarioModel.of(tmp_path / "harsh.yaml", 5)
    block = {"option": np.array(["bare"], object), "run": np.array([0]), "replicate": np.array([3])}
    assert playing(harsh, block).runs["parted_step"] > 0  # or nothing would be tried here
    row = {**block, "edges/test edge/radius": np.array([float(milder.split()[0]) * 1e-3])}
    typed = playing(ScenarioModel.of(tmp_path / "mild.yaml", 5), block).runs[0]
    assert differences(playing(harsh, row).runs[0], typed, CLOSE) == []


@pytest.mark.parametrize("spot", ["anchors/deck posts", "edges/kickplate", "edges/bottom chord"])
def test_a_spot_of_legs_that_is_moved_both_ways_carries_nothing_along(spot, tmp_path):
    (path,) = [path for path in SHIPPED if path.stem == "two-lines-re-anchored"]
    rows = [(f"{spot}/out", f"{spot}/up")]
    assert compared(path, "protected only", rows, tmp_path) == {}


MOVED_FAR = [
    ("demo", "footings, re-anchored", "anchors/gate bolts/out", -1.34),
    ("demo", "footings, re-anchored", "anchors/gate bolts/up", -2.83),
    ("two-lines-re-anchored", "deviated from a boom", "anchors/boom tip/out", -0.63),
]
"""Places at which a line meets other edges than at the survey's."""


@pytest.mark.parametrize(("stem", "option", "place", "to_m"), MOVED_FAR)
def test_a_place_that_leads_a_line_over_other_edges_is_as_typed(stem, option, place, to_m):
    (path,) = [path for path in SHIPPED if path.stem == stem]
    base = ScenarioModel.of(path, 5)
    block = {"option": np.array([option] * 2, object), "run": np.arange(2),
             "replicate": np.array([3, 4])}  # fmt: skip
    rows = playing(base, {**block, place: np.array([np.nan, to_m])}).runs
    own = playing(base, {**block, place: np.full(2, np.nan)}).runs
    changed = base.scenario.with_values({place: to_m})
    typed = playing(ScenarioModel(changed.source, changed.path, 5), block).runs
    assert differences(rows[0], own[0], CLOSE) == []
    assert differences(rows[1], typed[1], CLOSE) == []
    assert differences(rows[1], own[1], CLOSE) != []


def test_a_plan_fed_back_as_a_table_gives_the_same_runs(write, tmp_path):
    study = SAMPLE.replace("  replicates: 2\n", "")
    sweep(write(study), tmp_path / "first", executor=Inline())
    shutil.copy(tmp_path / "first" / "plan.parquet", tmp_path / "plan.parquet")
    sweep(write("study: {table: plan.parquet, seed: 3}\n"), tmp_path / "again", executor=Inline())
    first, again = (open_dataset(tmp_path / name).runs().to_pandas() for name in ("first", "again"))
    assert first.equals(again)
    plans = [open_dataset(tmp_path / name).plan().to_pandas() for name in ("first", "again")]
    assert plans[0].equals(plans[1][plans[0].columns])


def test_a_plan_of_a_comparison_is_a_table_too(write, tmp_path):
    compare(write("target: 50 %\n"), 4, 9, out=tmp_path / "first")
    shutil.copy(tmp_path / "first" / "plan.parquet", tmp_path / "plan.parquet")
    path = write("study: {table: plan.parquet, seed: 9}\n")
    sweep(path, tmp_path / "again", executor=Inline())
    first, again = (open_dataset(tmp_path / name).runs().to_pandas() for name in ("first", "again"))
    assert first.equals(again)


def test_every_column_of_a_plan_is_an_address():
    for path in SHIPPED:
        model = ScenarioModel.of(path, 0)
        for option in model.options:
            for one in model.uncertainties(option):
                assert model.scenario.resolve_addresses(one.name), one.name


ROPES = """\
study:
  grid: {options/bare/rope: [rope, other], options: [bare]}
  sample: {method: random, rows: 3, over: [rope]}
  seed: 4
"""
TWO_ROPES = BASE.replace(
    "ropes: {rope:", "ropes: {other: {like: low-stretch 10, length: 60 m}, rope:"
)


def test_a_rope_as_a_lever_brings_its_own_numbers_and_no_others(write, tmp_path):
    sweep(write(ROPES, TWO_ROPES), tmp_path / "out", executor=Inline())
    rows = rows_of(tmp_path / "out")
    for rope, absent in (("rope", "other"), ("other", "rope")):
        mine = rows[rows["options/bare/rope"] == rope]
        assert len(mine) == 3
        assert mine[f"ropes/{rope}/elongation"].notna().all()
        assert mine[f"ropes/{absent}/elongation"].isna().all()


def test_a_technique_as_a_lever_brings_its_own_numbers_and_no_others(write, tmp_path):
    study = SAMPLE.replace("over: [friction, edges/arris/roughness, body]", "over: [technique]")
    sweep(write(study), tmp_path / "out", executor=Inline())
    rows = rows_of(tmp_path / "out")
    for word, absent in (("jerky", "smooth"), ("smooth", "jerky")):
        mine = rows[rows["people/climber/technique"] == word]
        assert mine[f"techniques/{word}/rise"].nunique() == 6
        assert mine[f"techniques/{absent}/rise"].isna().all()


def test_one_number_of_a_technique_can_be_sampled_alone(write):
    study = "study: {sample: {method: random, rows: 3, over: [techniques/jerky/rise]}, seed: 1}\n"
    plan = prepare(write(study)).plan
    assert [column.name for column in plan.columns] == ["techniques/jerky/rise"]


def test_a_bend_sampled_by_its_place_in_the_file_is_the_bend(write):
    path = BASE.replace("after: 10 m", "after: 10 m +- 0.5 m")
    over = "sample: {method: random, rows: 3, over: [options/*/over/1/after]}"
    alpine = path.replace("setting: test", "setting: alpine")
    plan = prepare(write(f"study: {{{over}, seed: 1}}\n", alpine)).plan
    assert [column.name for column in plan.columns] == ["over/climber/working line/arris/after"]


def test_a_lever_on_the_diameter_takes_the_mass_along(write, tmp_path):
    grid = "study: {grid: {options: [bare], ropes/rope/diameter: [10 mm, 12 mm]}, seed: 1}\n"
    model = prepare(write(grid)).model
    thin, thick = (
        model.scenario.with_values({"ropes/rope/diameter": f"{d} mm"}).ropes["rope"].mass.value
        for d in (10, 12)
    )
    assert thick / thin == pytest.approx((12 / 10) ** 2, rel=1e-12)  # a few roundings


@pytest.mark.parametrize(
    ("table", "values"),
    [
        ("people/climber/start\n8\n", [8.0]),
        ("people/climber/start [cm]\n800\n", [8.0]),
        ("people/climber/start\n8 m\n", [8.0]),
        ("ropes/rope/length,id\n50,a\n,b\n", [50.0, np.nan]),
        ("ropes/rope/mass [g/m]\n71\n", [0.071]),
        ("job/1/ascend/height\n1.5\n", [1.5]),
        ("options/*/over/1/bend [deg]\n45\n", [np.pi / 4]),
        ("options/*/over/1/bend\n45 deg\n", [np.pi / 4]),
    ],
)
def test_numbers_in_si_cells_with_units_and_headings_with_units(table, values, write, tmp_path):
    (tmp_path / "runs.csv").write_text(table)
    ready = prepare(write("study: {table: runs.csv, grid: {options: [bare]}, seed: 1}\n"))
    column = ready.plan.block(0, ready.plan.rows)[ready.plan.levers[0].address]
    np.testing.assert_allclose(column, values, rtol=1e-15)  # one rounding of a unit
    runs = playing(ready.model, ready.plan.block(0, ready.plan.rows)).runs
    assert set(runs["status"]) == {"ok"}


def test_columns_of_one_s_own_stay_in_the_plan(write, tmp_path):
    (tmp_path / "runs.csv").write_text(
        "id,note,replicate,people/climber/mass\n7,thin air,0,\n8,,0,80\n"
    )
    sweep(
        write("study: {table: runs.csv, grid: {options: [bare]}}\n"),
        tmp_path / "out",
        executor=Inline(),
    )
    plan = open_dataset(tmp_path / "out").plan().to_pandas()
    assert (plan["id"].tolist(), plan["note"].tolist()) == ([7.0, 8.0], ["thin air", ""])
    runs = open_dataset(tmp_path / "out").runs().to_pandas()
    # a blank mass is the file's own, 90 kg
    assert runs["peak_tension_n"][0] > runs["peak_tension_n"][1]


@pytest.mark.parametrize(
    ("table", "message"),
    [
        ("options/*/over/1/bend\n30\n", "2:1: .*30 has no unit, and deg and rad are both likely"),
        ("edges/arris/radius\n3\n", "2:1: .*3 has no unit, and mm and m are both likely"),
        ("ropes/rope/strength\n30\n", "2:1: .*30 has no unit, and kN and N are both likely"),
        ("people/climber/start [kg]\n8\n", r"1:1: people/climber/start \[kg\]: unit 'kg'"),
        ("optoin,people/climber/mass\nbare,80\n", "1:1: .*nothing is named 'optoin'.*'option'"),
        (
            "options/*/over/1/after,over/climber/working line/arris/after\n5,\n5,6\n",
            r"3:3: over/climber/working line/arris/after: stands for what 'options/\*/over/1/",
        ),
        ("replicate\n-1\n", "2:1: replicate: a whole number"),
        ("ropes/rope/length\n50\n5000 kg\n", "3:1: ropes/rope/length: '5000 kg' is a mass"),
        ("job/1/ascend/height\n1\n9\n", "3:1: job/1/ascend/height: .*above the highest edge"),
    ],
)
def test_what_a_table_cannot_mean_is_told_in_its_own_line_once(table, message, write, tmp_path):
    (tmp_path / "runs.csv").write_text(table)
    with pytest.raises(ScenarioError, match=rf"runs\.csv:.*{message}") as told:
        prepare(write("study: {table: runs.csv}\n"))
    assert len(told.value.problems) == 1


def test_a_place_is_not_given_two_values_by_a_grid(write):
    grid = "{options/*/over/1/after: [5 m], over/climber/working line/arris/after: [6 m]}"
    with pytest.raises(ScenarioError, match=r"stands for what .* stands for: keep one") as told:
        prepare(write(f"study: {{grid: {grid}}}\n"))
    assert len(told.value.problems) == 2  # at either of them


def test_values_that_only_fit_together_are_a_row_like_any_other(write, tmp_path):
    table = "job/1/ascend/height,people/climber/start\n1,6\n9,20\n9,6\n"
    (tmp_path / "runs.csv").write_text(table)
    result = sweep(
        write("study: {table: runs.csv, grid: {options: [bare]}}\n", BASE),
        tmp_path / "out",
        executor=Inline(),
    )
    runs = open_dataset(tmp_path / "out").runs().to_pandas()
    assert result.failed == 1
    assert runs["status"].tolist() == ["ok", "ok", "failed"]
    assert "above the highest edge" in runs["reason"][2]


def test_a_scenario_changed_by_hand_is_refused_and_one_with_values_is_run():
    scenario = load_text(BASE, "base.yaml")
    people = {"climber": scenario.people["climber"].model_copy(update={"force_ratio": 1.7})}
    with pytest.raises(UsageError, match=r"changed after it was read \(people\)"):
        simulate(scenario.model_copy(update={"people": people}))
    light = scenario.with_values({"people/climber/mass": "70 kg"})
    assert simulate(light) == simulate(load_text(BASE.replace("90 kg", "70 kg"), "base.yaml"))
    assert simulate(light) != simulate(scenario)


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_the_text_of_a_scenario_with_values_reads_as_that_scenario(path):
    scenario = load_scenario(path)
    changed = scenario.with_values({"wear/cold share": 0.123456789012345678})
    again = load_text(changed.source, changed.path)
    assert again.wear.cold_share.value == 0.123456789012345678
    left_out = {"path", "source"}
    assert again.model_dump(exclude=left_out) == changed.model_dump(exclude=left_out)


def test_the_nominal_stroke_is_the_mean_stroke(write):
    """Whoever varies climbs as many strokes as who does not, when nothing is drawn."""
    one = load_text(BASE, "base.yaml")
    varied = {
        "people/climber/technique/amplitude cv": 0.4,
        "people/climber/technique/timing cv": 0.3,
    }
    even = dict.fromkeys(varied, 0.0)
    found = [simulate(one.with_values(values), "bare") for values in (varied, even)]
    assert found[0] == found[1]


def test_no_draw_lies_beyond_what_is_physically_possible(write):
    used = BASE.replace("length: 60 m", "length: 60 m, condition: used")
    over = "over: [ropes/rope/strength factor], method: latin hypercube, rows: 4096"
    ready = prepare(write(f"study: {{sample: {{{over}}}, seed: 1}}\n", used))
    (column,) = ready.plan.columns
    drawn = ready.plan.block(0, 4096)[column.name]
    assert 0.97 < drawn.max() <= 1.0
    assert "beyond 1 are physically impossible" in column.meaning
    # the shape below the cut stays: the median of the cut distribution, from its own shares
    (one,) = [u for u in ready.model.uncertainties("bare") if u.name == column.name]
    from scipy.stats import truncnorm

    low, high = (one.median - one.low) / 1.6449, (one.high - one.median) / 1.6449
    assert low == pytest.approx(high)
    median = truncnorm(-np.inf, (1 - one.median) / high, loc=one.median, scale=high).median()
    assert np.median(drawn) == pytest.approx(median, abs=2e-4)  # 4096 even slices


def test_edges_of_every_row_on_request(write, tmp_path):
    sweep(write(SAMPLE), tmp_path / "out", executor=Inline(), edges=True)
    edges = open_dataset(tmp_path / "out").edges().to_pandas()
    runs = open_dataset(tmp_path / "out").runs().to_pandas()
    summed = edges.groupby("run")["slip_m"].sum()
    np.testing.assert_allclose(summed, runs["slip_m"], rtol=1e-12)  # one edge: the same sum
    from edgewear.study.replay import replay

    assert replay(tmp_path / "out", 5).same


def test_traces_at_any_rate(write, tmp_path):
    sweep(write(SAMPLE), tmp_path / "out", executor=Inline())
    from edgewear.study.replay import replay

    for rate_hz in (2.0, 100.0):
        again = replay(tmp_path / "out", 3, tmp_path / f"{rate_hz:g}", rate_hz)
        times = pq.read_table(again.traces[2]).to_pandas()["time_s"]
        apart = np.diff(times)
        # samples are taken at the first step at or after each turn: steps last at most 10 ms
        assert np.median(apart) == pytest.approx(1 / rate_hz, abs=0.011)
        assert again.same
    with pytest.raises(UsageError, match="above 0"):
        replay(tmp_path / "out", 3, tmp_path / "none", 0.0)
