"""What a sweep takes: rows, chunks and workers, known before it begins and kept to."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import pytest

import edgewear.cli.commands  # noqa: F401 (commands stand in the order in which it registers them)
from edgewear.cli.studies import _estimate
from edgewear.dataset.reading import open_dataset
from edgewear.errors import UsageError
from edgewear.study.plan import (
    CHUNKS_ENOUGH,
    LONGEST_STEPS_A_CHUNK,
    MOST_ROWS_A_CHUNK,
    chunk_rows,
)
from edgewear.study.sweeping.estimate import START_S, seconds_of
from edgewear.study.sweeping.sweep import Estimate, dry_run, sweep
from edgewear.study.worker_pool import Inline
from edgewear.study.workers.devices import busy_workers
from support.sweeps import SAMPLE


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
    monkeypatch.setattr("edgewear.study.sweeping.sweep.dry_run", lambda *asked: found)
    _estimate(Path("study.yaml"), 1, edges=False, device="cpu", json=False)
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


@pytest.mark.parametrize("edges", [False, True])
@pytest.mark.parametrize("workers", [None, 1, 40])
@pytest.mark.parametrize("device", ["cpu", "cuda", "abacus"])
def test_a_dry_run_asks_for_what_the_run_asks_for(device, workers, edges, write, tmp_path):
    """What the run refuses, for want of a device, say, it refuses in the same words."""
    path = write(SAMPLE)
    told = []
    for ask in (
        lambda: dry_run(path, workers, edges, device),
        lambda: sweep(path, tmp_path / "out", workers, edges=edges, device=device,
                      executor=Inline()),
    ):  # fmt: skip
        try:
            ask()
        except UsageError as error:
            told.append(str(error))
    assert len(told) == (0 if device == "cpu" else 2)
    assert len(set(told)) <= 1


@pytest.mark.parametrize("workers", [1, 3, 8, 40])
@pytest.mark.parametrize("devices", [1, 2])
def test_a_dry_run_tells_what_a_device_would_play(devices, workers, write, monkeypatch, capsys):
    """Runs over one edge go there; here the processor plays them, so that none is needed."""
    path = write(SAMPLE)
    monkeypatch.setattr("edgewear.engine.devices.cuda.check_device", lambda name: devices)
    monkeypatch.setattr("edgewear.engine.fast.play_on_device", lambda *given: None)
    found = dry_run(path, workers, device="cuda")
    assert found.workers == min(workers, 8 * devices)
    assert (found.device, found.on_device) == ("cuda", ("bare", "sleeve"))
    _estimate(path, workers, edges=False, device="cuda", json=False)
    assert "device   cuda plays bare, sleeve; " in capsys.readouterr().out
    assert dry_run(path, workers, edges=True, device="cuda").on_device == ("bare", "sleeve")
    assert dry_run(path, workers).on_device == ()


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


@pytest.mark.parametrize("devices", [1, 2])
@pytest.mark.parametrize("wanted", [1, 5, 8, 9, 40])
def test_a_device_gets_as_many_workers_as_asked_for_and_at_most_eight(wanted, devices, monkeypatch):
    monkeypatch.setattr("edgewear.engine.devices.cuda.check_device", lambda name: devices)
    assert busy_workers(wanted, "cuda") == min(wanted, 8 * devices)
    assert busy_workers(wanted, "cpu") == wanted


@pytest.mark.parametrize("device", ["cpu", "cuda"])
@pytest.mark.parametrize("wanted", [0, -1, -9])
def test_fewer_than_one_worker_is_refused_on_a_device_too(
    wanted, device, write, tmp_path, monkeypatch
):
    monkeypatch.setattr("edgewear.engine.devices.cuda.check_device", lambda name: 1)
    with pytest.raises(UsageError, match=f"workers: {wanted}; at least 1 is allowed"):
        sweep(write(SAMPLE), tmp_path / "out", workers=wanted, device=device)
    assert not (tmp_path / "out").exists()
