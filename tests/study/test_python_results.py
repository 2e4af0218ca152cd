"""Results in Python: a row plays again, the trials are weighed, columns say what they are."""

from __future__ import annotations

import ast

import numpy as np
import pandas as pd
import pytest

import edgewear
from edgewear.errors import ScenarioError, UsageError
from edgewear.study.model import ScenarioModel
from support.studies import SLEEVE as BASE
from support.tree import ROOT

ASCENT = ROOT / "scenarios" / "reference-ascent.yaml"
SAMPLE = """\
study:
  grid: {people/climber/technique: [jerky, smooth], options: [bare]}
  sample: {method: latin hypercube, rows: 3, over: [friction, body]}
  seed: 3
"""
READ = """\
observed:
  - mark travel: {edge: arris, strokes: [9 cm, 10 cm, 11 cm], option: bare}
"""


@pytest.fixture(scope="module")
def swept():
    return edgewear.load(f"{BASE}{SAMPLE}").sweep(edges=True)


def test_a_sweep_in_memory_is_the_one_on_disk(swept, tmp_path):
    on_disk = edgewear.load(f"{BASE}{SAMPLE}").sweep(tmp_path / "out", edges=True)
    for name in ("runs", "edges"):
        pd.testing.assert_frame_equal(
            getattr(swept, name), getattr(on_disk, name), check_exact=True
        )
    assert (tmp_path / "out" / "manifest.json").is_file()


def test_a_row_plays_again_bit_for_bit_with_its_course_at_any_rate(swept):
    for run in (0, len(swept.runs) - 1):
        again = swept.replay(run, rate_hz=50.0)
        row = swept.runs.iloc[run]
        assert again.same
        assert again.outcome().slip_m == row.slip_m
        assert again.edges().slip_m.sum() == pytest.approx(row.slip_m, rel=1e-12)  # one edge
        last = again.timeline().iloc[-1]
        # the last sample falls at most 20 ms and a step before the end of some ten seconds
        assert 0.98 * row.slip_m <= last.slip_m <= row.slip_m * (1.0 + 1e-9)
        assert np.median(np.diff(again.timeline().time_s)) < 0.031  # 20 ms, and a step of 10 ms
    with pytest.raises(UsageError, match="there are rows 0 to"):
        swept.replay(len(swept.runs))


def test_a_row_that_was_changed_is_not_the_same(swept):
    from edgewear.python.replayed import replayed

    runs = swept.runs.copy()
    runs.loc[0, "slip_m"] *= 1.0 + 1e-15
    assert not replayed(swept.model, runs, swept.inputs, 0, None).same


def test_every_input_says_its_unit_range_distribution_and_where_it_comes_from(swept):
    facts, levers = swept.runs.attrs["inputs"], {"people/climber/technique"}
    known = {
        one.name: one
        for option in ("bare",)
        for one in ScenarioModel.of(edgewear.load(BASE).scenario, 0).uncertainties(option)
    }
    assert set(swept.inputs) == set(facts)
    for name in set(facts) - levers:
        one = known[name]
        said = {word: facts[name][word] for word in ("low", "high", "median", "distribution")}
        wanted = {"low": one.low, "high": one.high, "median": one.median}
        assert said == {**wanted, "distribution": one.distribution}
        assert facts[name]["pedigree"] == one.source
        assert swept.runs.attrs["units"][name] == one.unit
    for name in levers & set(facts):
        assert facts[name]["distribution"] == "chosen"


def test_names_for_formulas_are_names_and_lead_back(swept):
    frame = swept.for_formulas()
    leads = frame.attrs["addresses"]
    assert set(leads.values()) == set(swept.inputs)
    for alias, address in leads.items():
        assert isinstance(ast.parse(alias, mode="eval").body, ast.Name)
        assert frame[alias].equals(swept.runs[address].rename(alias))
    assert len(set(frame.columns)) == len(frame.columns)
    numbers = [alias for alias in leads if frame[alias].dtype == np.float64]
    assert len(frame.query(f"{numbers[0]} > -1e300")) == frame[numbers[0]].notna().sum()


def test_an_xarray_view_has_the_numbers_and_says_what_they_are(swept):
    pytest.importorskip("xarray")
    view = edgewear.as_xarray(swept.runs, "run")
    np.testing.assert_array_equal(view["slip_m"].to_numpy(), swept.runs["slip_m"])
    assert view["slip_m"].attrs["units"] == "m"
    name = next(n for n in swept.inputs if "median" in swept.runs.attrs["inputs"][n])
    assert view[name].attrs["median"] == swept.runs.attrs["inputs"][name]["median"]


@pytest.mark.parametrize("what", ["profile", "timeline", "edges"])
def test_a_picture_shows_the_numbers_of_its_frame(what, swept):
    pytest.importorskip("matplotlib").use("Agg")
    again = swept.replay(0)
    axes = again.plot(what)
    drawn = {
        "profile": lambda: axes.lines[0].get_ydata().max() == again.wear()["demand"].max(),
        "timeline": lambda: axes.lines[0].get_ydata().max() == again.timeline()["tension_n"].max(),
        "edges": lambda: axes.patches[0].get_width() == again.edges()["demand_max"].iloc[0],
    }
    assert drawn[what]()
    assert "a projection, not permission" in axes.get_title()
    with pytest.raises(UsageError, match="there are profile, timeline, edges"):
        again.plot("heat")


def test_trials_are_weighed_by_what_was_measured():
    model = edgewear.load(f"{BASE}target: 50 %\n{READ}")
    found = model.observe(replicates=64, seed=4)
    assert found.weights.sum() == pytest.approx(1.0, rel=1e-12)  # some roundings
    assert len(found.weights) == 64
    assert not found.holds
    assert 1.0 <= found.effective <= 1.0 / (found.weights**2).sum()  # Kish's; here of fewer still
    read = found.readings.iloc[0]
    edges = found.results.edges.merge(found.results.runs[["run", "option", "replicate"]], on="run")
    bare = edges[edges.option == "bare"].set_index("replicate")["mark_travel_p50_m"]
    pulled = (bare * found.weights).sum()
    assert abs(pulled - 0.10) < abs(bare.mean() - 0.10)
    assert read["p5"] <= read["p50"] <= read["p95"]
    with pytest.raises(ScenarioError, match="nothing was observed"):
        edgewear.load(f"{BASE}target: 50 %\n").observe(replicates=8)


def test_a_run_that_cannot_have_happened_is_refused(monkeypatch):
    from edgewear.engine.results import sense

    monkeypatch.setattr(sense, "MOST_RESIDUAL", -1.0)  # no energy closes better than that
    with pytest.raises(edgewear.RunFailed, match="energy does not close"):
        edgewear.load(BASE).run("bare")
