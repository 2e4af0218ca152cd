"""A comparison of which a device plays what it can: the same rows to 1e-9, and said which.

Here the device's functions are run by Python, see `support.plain_device`.
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import numpy as np
import pytest

from edgewear.dataset.reading import open_dataset
from edgewear.engine.devices import cuda
from edgewear.errors import UsageError
from edgewear.report import write_ranked
from edgewear.study.compare import compare, drawn
from edgewear.study.model import ScenarioModel
from edgewear.study.plan import (
    LEAST_ROWS_ON_A_DEVICE,
    MOST_COMPARED_ON_A_DEVICE,
    ComparePlan,
)
from edgewear.study.replay import replay
from edgewear.study.sweeping.sweep import sweep
from edgewear.study.worker_pool import Inline
from support.many import assert_as_a_device, assert_the_same
from support.plain_device import taken_for_a_device
from support.shell import called

SITE = """\
edgewear: 1
title: Some options over one edge and some over two
target: 50 %
setting: test
edges: {{arris: {{radius: 2 mm, surface: steel}}, lip: {{radius: 5 mm, surface: steel}}}}
ropes: {{rope: {{like: low-stretch 11, length: 60 m}}}}
people: {{climber: {{mass: 90 kg, technique: {technique}, start: {start} m}}}}
options:
{options}
job: {job}
"""
ONE = "{{rope: rope, over: [{{edge: arris, after: {after} m, bend: {bend} deg}}]{more}}}"
TWO = (
    "{rope: rope, over: [{edge: arris, after: 4 m, bend: 30 deg}, "
    "{edge: lip, after: 6 m, bend: 20 deg}]}"
)
ON_IT = {"bare": "", "sleeve": ", protect: {arris: sleeve}", "cut to size": ""}
JOBS = {
    "climbs": "[{ascend: 0.6 m}]",
    "down and up": "[{descend: 0.5 m}, {ascend: 0.4 m}]",
    "works": "[{work: {for: 8 s}}, {ascend: 0.3 m}]",
    "smooth, then jerky": "[{ascend: {height: 0.4 m, technique: smooth}}, {ascend: 0.3 m}]",
}


def site(path, names, job="climbs", seed=0):
    """A scenario with these options; its numbers are drawn."""
    rng = np.random.default_rng(seed)
    lines = []
    for name in names:
        after, bend = rng.uniform(3.0, 12.0), rng.uniform(15.0, 80.0)
        one = ONE.format(after=f"{after:.2f}", bend=f"{bend:.0f}", more=ON_IT.get(name, ""))
        lines.append(f"  {name}: {TWO if name.startswith('two') else one}")
    start, technique = rng.uniform(3.0, 6.0), rng.choice(["jerky", "normal"])
    text = SITE.format(
        options="\n".join(lines), job=JOBS[job], start=f"{start:.2f}", technique=technique
    )
    path.write_text(text, "utf-8")
    return path


def tables(folder):
    """Runs and edges of a dataset as records."""
    dataset = open_dataset(folder)
    return [one.to_pandas().to_records(index=False) for one in (dataset.runs(), dataset.edges())]


def both(path, folder, monkeypatch, replicates=3):
    """The dataset of the device and that of the processor, and what the device played."""
    device = taken_for_a_device(monkeypatch)
    ranking = compare(path, replicates, 1, 1, folder / "device", device="cuda")
    played = device.played
    compare(path, replicates, 1, 1, folder / "processor")
    assert device.played == played
    return ranking, tables(folder / "device"), tables(folder / "processor"), played


@pytest.mark.parametrize("seed", range(2))
@pytest.mark.parametrize("job", JOBS)
def test_rows_are_those_of_the_processor(job, seed, tmp_path, monkeypatch):
    path = site(tmp_path / "scenario.yaml", ("bare", "two edges", "sleeve"), job, seed)
    _, device, processor, played = both(path, tmp_path, monkeypatch)
    assert played == 2 * 3, "two of three options, three trials"
    for mine, theirs in zip(device, processor, strict=True):
        assert_as_a_device(mine, theirs)
    runs, edges = device
    assert (runs["status"] == "ok").all()
    assert (edges["mark_travel_p50_m"] > 0.0).any()
    assert np.isfinite(edges["flash_temperature_c"]).any()
    one_edge = np.isin(edges["run"], [0, 1, 2, 6, 7, 8])
    assert_the_same(edges[~one_edge], processor[1][~one_edge])


CASES = {
    "some": (("bare", "two edges", "sleeve"), ("bare", "sleeve"), "; by the processor: two edges."),
    "all": (("bare", "sleeve"), ("bare", "sleeve"), "Played on a device (cuda): bare, sleeve."),
    "none": (("two edges", "two more"), (), "Played by the processor, not on cuda: two edges, two"),
}


@pytest.mark.parametrize("case", CASES)
def test_what_is_played_where_is_said(case, tmp_path, monkeypatch):
    names, there, said = CASES[case]
    path = site(tmp_path / "scenario.yaml", names)
    ranking, device, processor, played = both(path, tmp_path, monkeypatch, replicates=2)
    assert played == 2 * len(there)
    assert said in ranking.notes[0]
    manifest = open_dataset(tmp_path / "device").manifest
    about = manifest.about
    assert (about["device"], about["on_device"]) == ("cuda", list(there))
    assert (manifest.chunk_rows >= LEAST_ROWS_ON_A_DEVICE) == (case == "all")
    plain = open_dataset(tmp_path / "processor").manifest
    assert not {"device", "on_device"} & set(plain.about)
    assert plain.study != manifest.study, "other bytes: another study"
    assert ranking.provenance["device"] == "cuda"
    readme = (tmp_path / "device" / "README.md").read_text("utf-8")
    assert "(cuda)" in readme
    page = write_ranked(ranking, open_dataset(tmp_path / "device"), tmp_path / "device")
    text = page.read_text("utf-8")
    assert said.partition("(")[0] in text
    assert "--replicates 2 --seed 1 --device cuda" in text
    if case == "none":
        assert_the_same(device[1], processor[1])


def test_a_row_that_a_device_made_is_replayed_to_a_billionth(tmp_path, monkeypatch):
    path = site(tmp_path / "scenario.yaml", ("bare", "two edges"))
    both(path, tmp_path, monkeypatch, replicates=2)
    for run in range(4):
        again = replay(tmp_path / "device", run)
        assert (again.same, again.exact, again.differences) == (True, False, ())


@pytest.mark.parametrize("room", [0.05, 0.3])
def test_what_makes_more_cycles_than_there_is_room_for_is_played_alone(room, tmp_path, monkeypatch):
    """Where nothing varies from stroke to stroke, no draws end a run that makes many of them."""
    monkeypatch.setattr("edgewear.engine.fast.SPARE_STROKES", room)
    monkeypatch.setattr("edgewear.engine.fast.LEAST_STROKES", 1)
    text = site(tmp_path / "scenario.yaml", ("bare",)).read_text("utf-8")
    even = "{rise: 0.1 m, amplitude cv: 0, timing cv: 0}"
    path = tmp_path / "scenario.yaml"
    path.write_text(f"{text}techniques: {{jerky: {even}, normal: {even}}}\n", "utf-8")
    _, device, processor, played = both(path, tmp_path, monkeypatch, replicates=2)
    assert played == 2
    for mine, theirs in zip(device, processor, strict=True):
        assert_as_a_device(mine, theirs)


STUDY = "study: {sample: {method: sobol, rows: 4, over: [friction, wear]}, seed: 3}\n"


def test_a_sweep_on_a_device_keeps_what_happened_at_the_edges(tmp_path, monkeypatch):
    path = site(tmp_path / "scenario.yaml", ("bare",))
    path.write_text(path.read_text("utf-8") + STUDY, "utf-8")
    device = taken_for_a_device(monkeypatch)
    for name in ("cuda", "cpu"):
        sweep(path, tmp_path / name, executor=Inline(), edges=True, device=name)
    assert device.played >= 4
    for mine, theirs in zip(tables(tmp_path / "cuda"), tables(tmp_path / "cpu"), strict=True):
        assert_as_a_device(mine, theirs)
    assert len(tables(tmp_path / "cuda")[1]) == 4


@pytest.mark.parametrize("what", ["compare", "sweep"])
@pytest.mark.parametrize(
    ("device", "said"),
    [("abacus", "allowed are cpu and cuda"), ("cuda", r"pip install 'edgewear\[cuda\]'")],
)
def test_without_a_device_nothing_is_written(what, device, said, tmp_path, monkeypatch):
    monkeypatch.setattr(cuda, "find_spec", lambda name: None)
    path = site(tmp_path / "scenario.yaml", ("bare",))
    path.write_text(path.read_text("utf-8") + STUDY, "utf-8")
    ask = partial(compare, replicates=2) if what == "compare" else sweep
    with pytest.raises(UsageError, match=said):
        ask(path, out=tmp_path / "out", device=device)
    assert not (tmp_path / "out").exists()


def test_the_command_says_what_is_missing(tmp_path):
    path = site(tmp_path / "scenario.yaml", ("bare",))
    done = called("compare", path, "--device", "abacus", folder=tmp_path)
    assert done.returncode == UsageError.exit_code
    assert "--device abacus: allowed are cpu and cuda" in done.stderr
    assert not (tmp_path / "results").exists()


@pytest.mark.parametrize("replicates", [1, 10**5, 10**7])
def test_chunks_of_a_comparison_are_for_a_device_where_it_plays_all(replicates, tmp_path):
    model = ScenarioModel.of(site(tmp_path / "scenario.yaml", ("bare",)), 1)
    plan = ComparePlan({"bare": drawn(model.uncertainties("bare"))}, replicates, 1, 1000.0)
    on_it = replace(plan, on_device=True)
    assert plan.chunk_rows < LEAST_ROWS_ON_A_DEVICE or replicates > 10**5
    assert LEAST_ROWS_ON_A_DEVICE <= on_it.chunk_rows <= MOST_COMPARED_ON_A_DEVICE
