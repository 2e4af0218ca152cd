"""Marks of a row are those of its own inputs; rows that mean nothing fail with a reason."""

from __future__ import annotations

import random
from functools import lru_cache

import numpy as np
import pytest

from edgewear.case import compile_case
from edgewear.case.filling.following import is_place, reordered
from edgewear.case.model import Marks
from edgewear.dataset.reading import open_dataset
from edgewear.engine.results.sense import MOST_RESIDUAL, meaningless, reasons
from edgewear.scenario import load_scenario
from edgewear.scenario.checks.standards import rope_warnings
from edgewear.scenario.read.libraries import built_in
from edgewear.study.model import ScenarioModel
from edgewear.study.sweeping.sweep import sweep
from edgewear.study.worker_pool import Inline
from support.studies import SLEEVE as BASE
from support.typed_rows import SHIPPED, options_of
from twins.domain_judge import judged

FARTHER = {"radius": 3.0, "diameter": 1.15, "mass": 1.3, "after": 3.0, "bend": 2.6}
"""How far a number that is judged may go either way, as a factor: to both sides of every range."""
ASIDE_M = 4.0
"""How far a place may be moved, enough for bends and setbacks to leave their ranges."""


@lru_cache
def compiled(path, option):
    ready = ScenarioModel.of(path, 0).ready(option)
    return ready.case, ready.tape


def random_row(path, option, chance):
    """Values of a few numbers that are judged, some of them places."""
    case, _ = compiled(path, option)
    judged_ones = [
        one
        for one in case.uncertainties
        if one.name.rpartition("/")[2] in (*FARTHER, "sheath share", "strength", "elongation")
        and not one.name.startswith("protection/")
    ]
    row = {}
    for one in chance.sample(judged_ones, min(3, len(judged_ones))):
        most = FARTHER.get(one.name.rpartition("/")[2], 1.25)
        row[one.name] = one.median * most ** chance.uniform(-1.0, 1.0)
    anchors = [one for one in case.uncertainties if one.name.startswith("anchors/")]
    if anchors and chance.random() < 0.3:
        one = chance.choice(anchors)
        row[one.name] = one.median + chance.uniform(-ASIDE_M, ASIDE_M)
    return row


def marks_of_rows(path, option, rows):
    """Marks of many rows at once, as a study makes them."""
    case, tape = compiled(path, option)
    names = sorted({name for row in rows for name in row})
    values = {name: np.array([row.get(name, np.nan) for row in rows]) for name in names}
    found = case.marks(case.batch(tape, values, len(rows)), values)
    outside, unlike = list(found.extrapolated), list(found.unlike_standard)
    scenario = load_scenario(path)
    for at in np.flatnonzero(reordered(scenario, scenario.options[option], values, len(rows))):
        mine = {name: np.array([value]) for name, value in rows[at].items()}
        places = {name: value for name, value in rows[at].items() if is_place(name)}
        again = compile_case(scenario.with_values(places), option)  # as a study compiles it anew
        alone = again.marks(again.batch(tape, mine, 1), mine)
        outside[at], unlike[at] = alone.extrapolated[0], alone.unlike_standard[0]
    return Marks(tuple(outside), tuple(unlike))


def slowly(path, option, row):
    """The same of one row: its values typed, everything laid and judged anew."""
    scenario = load_scenario(path).with_values(row)
    case = compile_case(scenario, option)
    ropes = dict.fromkeys(section.rope for section in case.rigged.sections)
    warned = [
        f"ropes/{name}: {sentence.split(': ')[0].partition(', ')[2]}"
        for name in ropes
        for sentence in rope_warnings(scenario.ropes[name])
    ]
    return judged(scenario, option, built_in()["surfaces"]), ", ".join(warned)


def differing(how_many, seed):
    """Rows, of all shipped scenarios, whose marks differ from the slow judge's."""
    chance, found, counted = random.Random(seed), [], 0
    every = [(path, option) for path in SHIPPED for option in options_of(path)]
    if how_many < len(every):
        every = chance.sample(every, 5)
    for number, (path, option) in enumerate(every):
        share = how_many // len(every) + (number < how_many % len(every))
        rows = [random_row(path, option, chance) for _ in range(share)]
        made = marks_of_rows(path, option, rows)
        for row, outside, unlike in zip(rows, made.extrapolated, made.unlike_standard, strict=True):
            counted += 1
            if (wanted := slowly(path, option, row)) != (outside, unlike):
                found.append((path.stem, option, row, (outside, unlike), wanted))
    print(f"{counted} rows judged")
    return found


def test_marks_are_the_row_s_own_by_a_slow_judge():
    assert differing(20, 1) == []


@pytest.mark.long
def test_marks_of_two_thousand_rows_by_a_slow_judge():
    assert differing(2_000, 2) == []


def test_a_row_outside_is_marked_and_a_row_inside_of_a_base_outside_is_not(write, tmp_path):
    table = "edges/arris/radius,options/*/over/1/after,options/*/over/1/bend\n"
    table += "2000 mm,60 m,89 deg\n1 mm,20 m,30 deg\n,,\n"
    (tmp_path / "runs.csv").write_text(table)
    path = write(
        "study: {table: runs.csv, grid: {options: [bare]}}\n",
        BASE.replace("length: 60 m", "length: 90 m").replace("after: 10 m", "after: 5 m"),
    )
    sweep(path, tmp_path / "out", executor=Inline())
    marks = open_dataset(tmp_path / "out").runs().to_pandas()["extrapolated"].tolist()
    assert marks == [
        "edges/arris/bend, edges/arris/setback, edges/arris/radius",
        "",
        "edges/arris/setback",
    ]


def test_a_climb_that_is_given_up_is_no_result(write, tmp_path):
    (tmp_path / "runs.csv").write_text("people/climber/start\n6\n150\n")
    path = write("study: {table: runs.csv, grid: {options: [bare]}}\n")
    result = sweep(path, tmp_path / "out", executor=Inline())
    runs = open_dataset(tmp_path / "out").runs().to_pandas()
    assert (result.failed, runs["status"].tolist()) == (1, ["ok", "failed"])
    # 10 m of setback and 150 m down are more than the 60 m of rope: nobody gets off the ground
    assert runs["reason"][1] == "the climb of 1 m was given up too low"
    assert runs["short_m"][1] == pytest.approx(1.0, abs=1e-9)  # all of it
    assert np.isnan(runs["sheath_margin"][1])


@pytest.mark.parametrize(
    ("column", "value", "said"),
    [
        ("energy_residual", 2.0 * MOST_RESIDUAL, "energy does not close"),
        ("energy_residual", np.nan, "energy does not close"),
        ("peak_tension_n", 2.6e10, "a peak is above what the new rope holds"),
        ("ascended_m", 0.0, "climb of 1 m was given up too low"),
    ],
)
def test_what_cannot_have_happened_is_told(column, value, said, write):
    from edgewear.engine.batch import play_batch

    ready = ScenarioModel.of(write(""), 0).ready("bare")
    runs, _ = play_batch(ready.case, ready.tape, {}, np.arange(2), 0)
    assert runs["status"].tolist() == ["ok", "ok"]
    batch = ready.case.batch(ready.tape, {}, 2)
    runs[column][1] = value
    told = reasons(ready.case, batch, runs, {})
    assert told.words[0] == ""
    assert said in told.words[1]


@pytest.mark.parametrize("seed", range(6))
def test_climbs_given_up_at_any_height_are_told_once_with_the_range(seed, write):
    """One reason, however many trials and wherever each ends, with what is left of the climb."""
    from edgewear.engine.batch import play_batch
    from edgewear.engine.results.sense import blank

    ready = ScenarioModel.of(write(""), 0).ready("bare")
    runs, _ = play_batch(ready.case, ready.tape, {}, np.arange(12), 0)
    climbed_m = np.random.default_rng(seed).uniform(0.0, 1.5, 12)
    runs["ascended_m"] = climbed_m
    told = reasons(ready.case, ready.case.batch(ready.tape, {}, 12), runs, {})
    low = climbed_m < 0.999  # of the metre that the job climbs
    assert set(told.words[low]) == {"the climb of 1 m was given up too low"}
    assert set(told.words[~low]) <= {""}
    assert told.short_m[low] == pytest.approx(1.0 - climbed_m[low], abs=1e-12)
    blank(runs, told)
    assert (runs["status"] == "failed").tolist() == low.tolist()
    assert np.array_equal(runs["short_m"], np.where(low, told.short_m, np.nan), equal_nan=True)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize(
    ("column", "said"),
    [
        ("energy_residual", "the energy does not close: more of its flows is left open than 0.001"),
        (
            "peak_tension_n",
            "a peak is above what the new rope holds: it would break, which is not computed",
        ),
    ],
)
def test_what_is_more_than_can_be_is_told_once_with_how_many_times(column, said, seed, write):
    """One reason, however many trials and whatever each comes to."""
    from edgewear.engine.batch import play_batch
    from edgewear.engine.results.sense import blank

    ready = ScenarioModel.of(write(""), 0).ready("bare")
    runs, _ = play_batch(ready.case, ready.tape, {}, np.arange(12), 0)
    batch = ready.case.batch(ready.tape, {}, 12)
    breaking_n = batch.wear["breaking_n"][:, ready.case.lines["role"] == 0].max(axis=1)
    most = MOST_RESIDUAL if column == "energy_residual" else breaking_n
    times = 10.0 ** np.random.default_rng(seed).uniform(-1.0, 2.0, 12)
    runs[column] = times * most
    told = reasons(ready.case, batch, runs, {})
    over = times > 1.0
    assert over.any()
    assert set(told.words[over]) == {said}
    assert set(told.words[~over]) <= {""}
    assert told.times[over] == pytest.approx(times[over], rel=1e-12)
    blank(runs, told)
    assert (runs["status"] == "failed").tolist() == over.tolist()
    due = np.where(over, told.times, np.nan)
    assert np.array_equal(runs["times_allowed"], due, equal_nan=True)


def test_the_same_is_told_of_a_run_of_people(write):
    from edgewear.engine.results.outcome import outcome
    from edgewear.engine.run_job import perform

    ready = ScenarioModel.of(write(""), 0).ready("bare")
    done = perform(ready.scenario, ready.case)
    row = outcome(done.player, done.ticks).run[0]
    assert meaningless(done.player, done.tape, row) == ""
    row["energy_residual"] = 1.0
    assert meaningless(done.player, done.tape, row).endswith("than 0.001, 1000 times as much")
