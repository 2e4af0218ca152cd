"""A comparison writes the dataset it promises and ranks it, with or without workers."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass, replace

import pyarrow.parquet as pq
import pytest

from edgewear import records
from edgewear.dataset.ranking.rank import ranking_of
from edgewear.dataset.reading import open_dataset
from edgewear.errors import DatasetError, Mismatch, UsageError
from edgewear.study.compare import compare_model
from edgewear.study.progress import Clock
from edgewear.study.runner import JOURNAL, run_study
from edgewear.study.worker_pool import inline
from support.studies import DESCRIBED, FRICTION, FakeModel, bytes_of

MODEL = FakeModel({"bare": 0.9, "pad": 0.4, "roller": 0.2})

COMPARE_KEYS = {
    "schema",
    "seed",
    "replicates",
    "target",
    "headline",
    "options",
    "dataset",
    "report",
    "cautions",
}
OPTION_KEYS = {
    "name",
    "order",
    "rank",
    "status",
    "control",
    "margin",
    "p_core_visible",
    "p_best",
    "core_visible_at",
    "residual_strength_n",
    "why",
}


def compared(root, model=MODEL, described=DESCRIBED, replicates=64, seed=5, workers=None):
    return compare_model(model, described, root, replicates, seed, workers)


def test_the_ranking_and_its_document(tmp_path):
    ranking = compared(tmp_path)
    assert [option.name for option in ranking.options] == ["roller", "pad", "bare"]
    document = json.loads(json.dumps(ranking.as_json(), allow_nan=False))
    assert set(document) >= COMPARE_KEYS
    assert document["schema"] == "edgewear.compare/1"
    for option in document["options"]:
        assert set(option) >= OPTION_KEYS
        assert set(option["margin"]) == {"p5", "p50", "p95"}
    shown = document["options"][2]["core_visible_at"]
    assert {name: set(shown[name]) for name in shown} == {
        "time_s": {"p5", "p50"},
        "ascended_m": {"p5", "p50"},
    }


@dataclass(frozen=True)
class Uneven(FakeModel):
    """Options whose runs take so many steps, and are played so often."""

    takes: tuple[tuple[float, int], ...] = ()

    def nominal(self, option):
        steps, plays = self.takes[list(self.bases).index(option)]
        return replace(super().nominal(option), steps=steps, plays=plays)


@pytest.mark.parametrize(
    ("takes", "order"),
    [
        (((1e4, 1), (2e4, 1), (3e4, 1)), [2, 1, 0]),
        (((2e4, 1), (1.5e4, 2), (1e4, 1)), [1, 0, 2]),
        (((3e4, 1), (1.6e4, 2), (1e4, 4)), [2, 1, 0]),
    ],
)
def test_chunks_of_options_that_take_longest_begin(takes, order, tmp_path):
    compared(tmp_path, Uneven(MODEL.bases, takes=takes), workers=1)
    text = (tmp_path / JOURNAL).read_text()
    rows = open_dataset(tmp_path).manifest.chunk_rows
    chunks = [int(n) for n in re.findall(r"^runs/part-(\d+)", text, re.MULTILINE)]
    begun = [min((chunk + 1) * rows, 192) - 1 for chunk in chunks]  # the last run of each
    assert list(dict.fromkeys(last // 64 for last in begun)) == order


def test_the_margin_is_the_quantile_of_the_trials(tmp_path):
    ranking = compared(tmp_path, FakeModel({"a": 0.3}, known=(FRICTION,)), replicates=2000)
    # demand is 0.3 times a log-normal of median 1 and 95th percentile 1.5; with 2,000 trials the
    # 5th percentile of the margin has a standard error of 0.3*1.5*0.2465*0.22/0.103/sqrt(2000)
    assert ranking.options[0].margin.p5 == pytest.approx(1 - 0.3 * 1.5, abs=4 * 0.0053)


def test_the_dataset_has_the_files_and_columns_it_promises(tmp_path):
    compared(tmp_path)
    names = set(bytes_of(tmp_path))
    assert names >= {
        "manifest.json",
        "scenario.yaml",
        "scenario.json",
        "plan.parquet",
        "nominal/events.parquet",
        "nominal/wear.parquet",
        "nominal/timeline.parquet",
    }
    for table, columns in (("runs", records.RUN), ("edges", records.EDGE)):
        part = pq.read_table(next((tmp_path / table).iterdir()))
        assert part.column_names == [column.name for column in columns]
    plan = pq.read_table(tmp_path / "plan.parquet")
    assert plan.column_names == [
        "run",
        "option",
        "replicate",
        "chunk",
        "friction/kerb",
        "people/lead/mass",
    ]
    assert plan.column("run").to_pylist() == list(range(3 * 64))
    manifest = json.loads((tmp_path / "manifest.json").read_text())
    assert set(manifest["files"]) == names - {"manifest.json"}


def test_twice_and_with_two_workers_the_bytes_are_the_same(tmp_path):
    compared(tmp_path / "a")
    compared(tmp_path / "b")
    compared(tmp_path / "c", workers=2)
    assert bytes_of(tmp_path / "a") == bytes_of(tmp_path / "b") == bytes_of(tmp_path / "c")


def test_each_option_has_the_way_to_the_one_before_it(tmp_path):
    first, second, third = compared(tmp_path).options
    assert first.bridge == ()
    assert [(step.margin_before, step.margin_after) for step in second.bridge] == [(0.6, 0.8)]
    assert third.bridge[0].margin_after == 0.6
    (tmp_path / "bridges.json").unlink()
    assert compared(tmp_path).options[1].bridge == second.bridge


def test_another_seed_draws_other_worlds(tmp_path):
    first, second = compared(tmp_path / "a"), compared(tmp_path / "b", seed=6)
    assert first.options[0].margin != second.options[0].margin


def test_an_option_added_changes_no_other_one(tmp_path):
    more = FakeModel({**MODEL.bases, "sleeve": 0.3})
    before, after = compared(tmp_path / "a"), compared(tmp_path / "b", more)
    for option in before.options:
        assert after.option(option.name).margin == option.margin


def test_a_changed_scenario_replaces_the_comparison_and_nothing_else(tmp_path):
    compared(tmp_path, replicates=80)
    (tmp_path / "report.html").write_text("a page")
    changed = replace(DESCRIBED, text=b"title: changed\n", title="changed")
    ranking = compared(tmp_path, described=changed)
    assert ranking.title == "changed"
    assert (tmp_path / "report.html").read_text() == "a page"
    (tmp_path / "report.html").unlink()
    compared(tmp_path.parent / "fresh", described=changed)
    assert bytes_of(tmp_path) == bytes_of(tmp_path.parent / "fresh")


def test_a_comparison_never_replaces_a_sweep(tmp_path, monkeypatch):
    from edgewear.study import compare

    kept = []
    monkeypatch.setattr(compare, "run_study", lambda study, *rest, **more: kept.append(study))
    monkeypatch.setattr(compare, "open_dataset", lambda root: None)
    with pytest.raises(AttributeError):
        compared(tmp_path)
    run_study(replace(kept[0], kind="sweep"), inline())
    monkeypatch.undo()
    with pytest.raises(Mismatch, match="a sweep, not a compare"):
        compared(tmp_path, seed=8)


@pytest.mark.parametrize("harm", ["flip", "gone", "added"])
def test_a_damaged_dataset_is_not_ranked(harm, tmp_path):
    compared(tmp_path)
    part = next((tmp_path / "runs").iterdir())
    if harm == "flip":
        raw = bytearray(part.read_bytes())
        raw[len(raw) - 40] ^= 4
        part.write_bytes(raw)
    elif harm == "gone":
        part.unlink()
    else:
        (tmp_path / "runs" / "part-000777.parquet").write_bytes(part.read_bytes())
    dataset = open_dataset(tmp_path)
    assert len(dataset.verify()) == 1
    if harm != "added":
        with pytest.raises(DatasetError):
            ranking_of(dataset)


def test_numbers_out_of_range_are_refused_before_anything_is_written(tmp_path):
    for wrong in ({"replicates": 0}, {"workers": 0}, {"seed": -1}):
        with pytest.raises(UsageError):
            compared(tmp_path / "none", **wrong)
    assert not (tmp_path / "none").exists()


def test_progress_counts_what_this_start_did():
    times = iter([0.0, 0.0, 10.0])
    clock = Clock(rows=1000, kept=400, now=lambda: next(times))
    assert clock.at(400, 0).eta_s is None
    later = clock.at(500, 2)
    assert (later.rate_per_s, later.eta_s, later.failed) == (10.0, 50.0, 2)
