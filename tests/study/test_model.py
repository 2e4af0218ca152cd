"""The real simulator behind a comparison: the same worlds, the same bytes, reasons that add up."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from edgewear.dataset.ranking.option_trials import samples_of
from edgewear.dataset.ranking.rank import ranking_of
from edgewear.dataset.reading import open_dataset
from edgewear.errors import ScenarioError, UsageError
from edgewear.findings.plain import plain
from edgewear.study import simulate
from edgewear.study.compare import careful_replicates, compare, drawn
from edgewear.study.model import ScenarioModel
from edgewear.study.plan import ComparePlan
from edgewear.study.task import playing
from support.studies import bytes_of

SCENARIOS = Path(__file__).parents[2] / "scenarios"

TWINS = """\
edgewear: 1
title: The same way twice, and a sleeve
setting: test
target: 10 %
edges: {arris: {radius: 2 mm, surface: steel}}
ropes: {rope: {like: low-stretch 11, length: 60 m}}
people: {climber: {mass: 90 kg, technique: jerky, start: 6 m}}
options:
  one:    {rope: rope, over: [{edge: arris, after: 10 m, bend: 30 deg}]}
  same:   {rope: rope, over: [{edge: arris, after: 10 m, bend: 30 deg}]}
  sleeve: {rope: rope, over: [{edge: arris, after: 10 m, bend: 30 deg}], protect: {arris: sleeve}}
job: [{ascend: 2 m}]
when: {core visible: stop}
"""


@pytest.fixture(scope="module")
def file(tmp_path_factory):
    path = tmp_path_factory.mktemp("scenario") / "twins.yaml"
    path.write_text(TWINS)
    return path


@pytest.fixture(scope="module")
def folder(file):
    return file.parent / "one"


@pytest.fixture(scope="module")
def ranking(file, folder):
    return compare(file, replicates=12, seed=4, workers=1, out=folder)


def test_the_same_way_under_two_names_shares_place_and_chance(ranking):
    one, same = ranking.option("one"), ranking.option("same")
    assert (one.order, one.margin, one.p_best) == (same.order, same.margin, same.p_best)
    assert one.p_best + same.p_best + ranking.option("sleeve").p_best == pytest.approx(1.0)


def test_two_workers_give_the_bytes_of_one(ranking, file, folder):
    compare(file, replicates=12, seed=4, workers=2, out=file.parent / "two")
    assert bytes_of(file.parent / "two") == bytes_of(folder)


def test_a_ranking_read_back_is_the_one_returned(ranking, folder):
    assert ranking_of(open_dataset(folder)) == ranking


def test_no_trial_failed(ranking, folder):
    runs = open_dataset(folder).runs().to_pandas()
    assert set(runs["status"]) == {"ok"}
    assert runs["energy_residual"].between(0, 1).all()


def test_strokes_vary_between_trials_and_not_between_options(ranking, folder):
    dataset = open_dataset(folder)
    strokes = dataset.edges().to_pandas()
    assert strokes["mark_travel_p50_m"].nunique() > 12
    run = dataset.runs().to_pandas().set_index("run")["duration_s"]
    options = np.split(run.to_numpy(), 3)
    assert (options[0] == options[1]).all()


def test_the_plan_keeps_every_draw_in_si(ranking, folder):
    plan = open_dataset(folder).plan()
    mass = plan.schema.field("wear/discrepancy")
    assert mass.metadata[b"unit"] == b"1"


def test_a_chunk_s_rows_are_those_of_the_plan_drawn_alone(file):
    model = ScenarioModel.of(file, 4)
    known = {option: drawn(model.uncertainties(option)) for option in model.options}
    plan = ComparePlan(known, 12, 4, 1000.0)
    whole = playing(model, plan.block(0, plan.rows))
    for run in (0, 7, 35):
        alone = playing(model, plan.block(run, 1))
        # by their spelling, for NaN equals NaN there
        assert str(alone.runs.tolist()) == str(whole.runs[run : run + 1].tolist())


def test_run_gives_the_document_of_one_option(file):
    document = simulate(file, "sleeve")
    assert document["schema"] == "edgewear.run/1"
    assert set(document) >= {
        "option",
        "status",
        "lines",
        "slings",
        "bare_edge",
        "extrapolated",
        "energy_residual",
        "events",
        "cautions",
    }
    line = document["lines"][0]
    assert set(line) >= {
        "name",
        "role",
        "edges",
        "peak_tension_n",
        "anchor_peak_n",
        "stretch_m",
        "natural_frequency_hz",
        "sheath_margin",
        "sheath_demand_max",
        "core_visible",
        "core_loss",
        "residual_strength_n",
        "parted",
    }
    assert set(line["edges"][0]) >= {
        "name",
        "wrap_deg",
        "protection",
        "slips",
        "slip_m",
        "energy_j",
        "sawing_amplitude_m",
        "mark_travel_m",
        "peak_tension_n",
        "flash_temperature_c",
    }
    assert line["edges"][0]["protection"] == "sleeve"
    assert document["bare_edge"] == []
    assert simulate(file)["option"] == "one"
    assert simulate(file, "one")["bare_edge"][0]["edge"] == "arris"


def test_an_option_nobody_defined_is_said_with_those_there_are(file):
    with pytest.raises(UsageError, match="no option is called 'none'; there are 'one', 'same'"):
        simulate(file, "none")


def test_a_comparison_without_a_target_is_refused(tmp_path):
    path = tmp_path / "s.yaml"
    path.write_text(TWINS.replace("target: 10 %\n", ""))
    with pytest.raises(ScenarioError, match="target"):
        compare(path, replicates=2, out=tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_a_bridge_changes_one_thing_at_a_time_and_arrives(file, ranking):
    model = ScenarioModel.of(file, 4)
    (step,) = model.bridge("one", "sleeve")()
    assert step.change == "protect arris: none -> sleeve"
    assert step.margin_before == model.nominal("one").margin
    assert step.margin_after == model.nominal("sleeve").margin
    assert (step.careful_before, step.careful_after) == (None, None)
    assert model.bridge("one", "same")() == ()


def test_a_bridge_is_the_same_in_whatever_order_its_options_are_played(file):
    model, asked = ScenarioModel.of(file, 4), []

    def backwards(task, given):
        asked.extend(given)
        found = [task(one) for one in reversed(given)]
        return lambda: found[::-1]

    assert (
        model.bridge("one", "sleeve", (1, 2), backwards)()
        == model.bridge("one", "sleeve", (1, 2))()
    )
    assert len(asked) == 2  # as it is, and after the one change


def test_a_bridge_is_told_in_the_trials_of_the_careful_end(file, ranking):
    samples = {sample.name: sample for sample in samples_of(open_dataset(ranking.dataset))}
    worlds = careful_replicates(samples["one"])
    model = ScenarioModel.of(file, ranking.seed)
    for step in model.bridge("one", "sleeve", worlds)():
        for found, name in ((step.careful_before, "one"), (step.careful_after, "sleeve")):
            margins = samples[name].margins[list(worlds)]
            # the same draws by name and the same kernels as the comparison's trials: rounding
            assert found == pytest.approx(float(np.median(margins)), rel=1e-9)
    told = ranking.option("one").bridge or ranking.option("sleeve").bridge
    assert all(step.careful_before is not None for step in told)


def test_plain_turns_what_has_no_end_into_null():
    assert plain({"a": (float("inf"), np.float64(2.0), "x")}) == {"a": [None, 2.0, "x"]}
