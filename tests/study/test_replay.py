"""Any row of any study again, bit for bit: machines, grids, several people, several lines."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from edgewear.dataset.reading import open_dataset
from edgewear.study.compare import compare
from edgewear.study.replay import replay
from edgewear.study.sweeping.sweep import sweep
from edgewear.study.worker_pool import Inline

SCENARIOS = Path(__file__).parents[2] / "scenarios"
SAMPLE = """
study: {{sample: {{method: random, rows: {rows}, over: [{over}]}}, replicates: 2, seed: 5}}
"""
ALL = "friction, wear, body, rope, technique, survey, protection"
STUDIES = {
    "reference-ascent.yaml": "friction, wear, body, rope, technique, edges/arris/radius",
    "two-lines-re-anchored.yaml": ALL,
    "procedure.yaml": ALL,
    "alpine-edge.yaml": ALL,
    "machine-bench.yaml": "friction, wear, rope",
}
GRID = """
study:
  grid:
    options: [sleeve, bare]
    edges/test edge/radius: [0.8 mm, 3 mm]
    people/climber/technique: [jerky, smooth]
    options/*/over/1/after: {from: 2 m, to: 38 m, steps: 3}
  sample: {method: sobol, rows: 4, over: [friction, wear, body]}
  skip: [{options: sleeve, edges/test edge/radius: 0.8 mm}]
  seed: 7
"""


def swept(name, rows, folder):
    """The dataset of a shipped scenario with a study of its own."""
    text = (SCENARIOS / name).read_text("utf-8").partition("\nstudy:")[0]
    study = GRID if name == "sleeve-study.yaml" else SAMPLE.format(rows=rows, over=STUDIES[name])
    path = folder / name
    path.write_text(text + study, "utf-8")
    sweep(path, folder / "out", executor=Inline())
    return folder / "out"


def assert_same(folder, count):
    """Replay rows taken at random, every option among them where there are enough."""
    plan = open_dataset(folder).plan(["run", "option"]).to_pandas()
    shuffled = plan.sample(frac=1, random_state=np.random.default_rng(count).integers(2**31))
    turns = shuffled.assign(turn=shuffled.groupby("option").cumcount()).sort_values("turn")
    rows = turns["run"].head(count)
    assert len(rows) == count
    for run in rows:
        again = replay(folder, int(run))
        assert (again.exact, again.differences) == (True, ()), run
    return turns["option"].head(count).nunique()


@pytest.mark.parametrize("name", ["reference-ascent.yaml", "procedure.yaml"])
def test_a_row_of_a_sweep_comes_out_again_bit_for_bit(name, tmp_path):
    assert assert_same(swept(name, 2, tmp_path), 2)


@pytest.mark.long
@pytest.mark.parametrize("name", ["sleeve-study.yaml", *STUDIES])
def test_two_hundred_random_rows_come_out_again_bit_for_bit(name, tmp_path):
    folder = swept(name, 40, tmp_path)
    options = open_dataset(folder).plan(["option"]).column("option").unique()
    assert assert_same(folder, 36) == len(options)


@pytest.mark.long
def test_rows_of_a_comparison_come_out_again_with_what_each_edge_did(tmp_path):
    options = compare(SCENARIOS / "demo.yaml", 16, 2, workers=1, out=tmp_path / "out").options
    assert assert_same(tmp_path / "out", 40) == len(options)
