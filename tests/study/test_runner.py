"""A study's bytes depend on the study alone: not on workers, deaths, stops or resumption."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import partial

import pyarrow.parquet as pq
import pytest

from edgewear.dataset import manifest as manifests
from edgewear.dataset.lock import locked
from edgewear.errors import Interrupted, Locked, Mismatch, UsageError
from edgewear.study.plan import planned_rows, write_plan
from edgewear.study.runner import JOURNAL, run_study
from edgewear.study.worker_pool import WorkerPool, inline, processes
from support.studies import FRICTION, MASS, FakeModel, bytes_of, dies_once
from support.sweeper import BASES, study_in


@pytest.fixture(scope="module")
def reference(tmp_path_factory):
    root = tmp_path_factory.mktemp("reference")
    run_study(study_in(root), inline())
    return bytes_of(root)


def test_the_parts_are_several_and_listed(reference):
    assert sum(name.startswith("runs/") for name in reference) == 15
    assert {"manifest.json", "plan.parquet", "scenario.yaml"} < set(reference)


@pytest.mark.parametrize(
    "gang",
    [
        lambda: processes(1),
        lambda: processes(2),
        lambda: WorkerPool(lambda: ThreadPoolExecutor(3), 4),
    ],
    ids=["1 process", "2 processes", "3 threads"],
)
def test_workers_leave_no_trace_in_the_bytes(gang, reference, tmp_path):
    run_study(study_in(tmp_path), gang())
    assert bytes_of(tmp_path) == reference


@pytest.mark.parametrize(
    "takes", [lambda chunk: chunk, lambda chunk: -chunk, lambda chunk: chunk % 4, lambda chunk: 1.0]
)
def test_the_longest_chunks_begin_and_leave_no_trace_in_the_bytes(takes, reference, tmp_path):
    run_study(replace(study_in(tmp_path), takes=takes), inline())
    parts = [line.split()[0] for line in (tmp_path / JOURNAL).read_text().splitlines() if line]
    chunks = [int(part[-14:-8]) for part in parts if part.startswith("runs/")]
    found = [takes(chunk) for chunk in chunks]
    assert found == sorted(found, reverse=True)
    assert sorted(chunks) == list(range(15))
    assert bytes_of(tmp_path) == reference


def test_a_dead_worker_is_replaced_and_its_chunk_made_again(reference, tmp_path):
    bomb = tmp_path / "bomb"
    bomb.touch()
    root = tmp_path / "out"
    told = []
    model = FakeModel(BASES, kills_once=str(bomb))
    run_study(study_in(root, model), processes(2), told.append)
    assert not bomb.exists()
    assert bytes_of(root) == reference
    assert (told[-1].done, told[-1].rows, told[-1].failed) == (150, 150, 0)


def test_workers_begun_early_may_die_or_fail_to_get_ready(reference, tmp_path):
    bomb = tmp_path / "bomb"
    bomb.touch()
    with processes(2, partial(dies_once, str(bomb))) as gang:
        gang.begin(9)
        run_study(study_in(tmp_path / "out"), gang)
    assert not bomb.exists()
    assert bytes_of(tmp_path / "out") == reference


def test_what_workers_do_before_there_are_chunks_is_done_here_when_one_dies(tmp_path):
    bomb = tmp_path / "bomb"
    bomb.touch()
    with processes(2, partial(dies_once, str(bomb))) as gang:
        assert gang.later(abs, (-1, 2, -3))() == [1, 2, 3]
        assert not bomb.exists()
        assert gang.later(abs, (-4, 5))() == [4, 5]


def test_workers_that_die_as_they_start_end_the_study_and_no_run_is_blamed(tmp_path):
    with pytest.raises(UsageError, match="__main__"), processes(1, os.abort) as gang:
        run_study(study_in(tmp_path), gang)
    assert not (tmp_path / "runs").exists()


def exit_code(process):
    """Code with which a process ended, None if it does not.

    The pool's own thread may be told of the end first, and take a moment to pass it on.
    """
    process.join(20)
    for _ in range(200):
        if process.exitcode is not None:
            break
        time.sleep(0.01)
    return process.exitcode


def test_an_executor_let_go_takes_its_workers_with_it():
    gang = processes(1)
    gang.submit(time.sleep, 600)
    (worker,) = multiprocessing.active_children()
    gang.dismiss()
    assert exit_code(worker) == -signal.SIGKILL


def fail_after_beginning(begun):
    with processes(1) as gang:
        gang.begin(1)
        begun += multiprocessing.active_children()
        raise ZeroDivisionError


def test_workers_begun_early_end_with_what_they_were_begun_for():
    begun = []
    with pytest.raises(ZeroDivisionError):
        fail_after_beginning(begun)
    assert [exit_code(process) is None for process in begun] == [False]


def test_a_chunk_that_keeps_killing_is_recorded_as_failed_and_the_rest_goes_on(tmp_path):
    manifest = run_study(
        study_in(tmp_path, FakeModel(BASES, kills_at=frozenset({75}))), processes(2)
    )
    runs = pq.read_table(tmp_path / "runs").to_pylist()
    failed = [row["run"] for row in runs if row["status"] == "failed"]
    assert failed == list(range(70, 80))
    assert {row["reason"] for row in runs if row["run"] in failed} == {
        "the worker process died, three times"
    }
    assert len(runs) == 150
    assert manifest.failed == 10


@pytest.mark.parametrize("name", ["runs/part-000003.parquet", "edges/part-000000.parquet"])
def test_what_a_dead_worker_left_half_written_is_gone_at_the_end(name, reference, tmp_path):
    """A worker that is ended with another one's death may be between writing and renaming."""
    half = tmp_path / f"{name}.4711.unfinished"

    def left(progress):
        half.parent.mkdir(exist_ok=True)
        half.write_bytes(b"as far as it came")

    run_study(study_in(tmp_path), inline(), left)
    assert not half.exists()
    assert bytes_of(tmp_path) == reference


def test_a_run_that_raises_and_one_without_a_number_are_rows_with_reasons(reference, tmp_path):
    model = FakeModel(BASES, raises_at=frozenset({11}), not_a_number_at=frozenset({12}))
    manifest = run_study(study_in(tmp_path, model), inline())
    runs = {row["run"]: row for row in pq.read_table(tmp_path / "runs").to_pylist()}
    assert runs[11]["status"] == runs[12]["status"] == "failed"
    assert runs[11]["reason"] == "the rope is not there in run 11"
    assert runs[12]["reason"] == "sheath_margin is not a finite number"
    assert manifest.failed == 2
    mine = bytes_of(tmp_path)
    assert {name for name in mine if mine[name] != reference[name]} == {
        "manifest.json",
        "README.md",  # says how many failed
        "runs/part-000001.parquet",
        "edges/part-000001.parquet",
    }


def test_a_stop_on_request_keeps_what_is_done_and_resumes_to_the_same_bytes(reference, tmp_path):
    def stop(progress):
        if progress.done == 40:
            signal.raise_signal(signal.SIGINT)

    with pytest.raises(Interrupted):
        run_study(study_in(tmp_path), inline(), stop)
    assert 4 <= len(list((tmp_path / "runs").iterdir())) <= 6
    assert not manifests.read(tmp_path).finished
    told = []
    run_study(study_in(tmp_path), inline(), told.append)
    assert told[0].done >= 40
    assert bytes_of(tmp_path) == reference


def test_a_second_ctrl_c_ends_at_once(tmp_path):
    def stop(progress):
        if progress.done == 10:
            signal.raise_signal(signal.SIGINT)
            signal.raise_signal(signal.SIGINT)

    with pytest.raises(KeyboardInterrupt):
        run_study(study_in(tmp_path), inline(), stop)
    assert len(list((tmp_path / "runs").iterdir())) == 1


@pytest.mark.parametrize("harm", ["part", "plan", "manifest", "half", "foreign", "journal"])
def test_harm_done_to_half_a_study_is_mended_by_the_same_command(harm, reference, tmp_path):
    def stop(progress):
        if progress.done == 60:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run_study(study_in(tmp_path), inline(), stop)
    parts = sorted((tmp_path / "runs").iterdir())
    if harm == "part":
        raw = bytearray(parts[2].read_bytes())
        raw[len(raw) // 2] ^= 1
        parts[2].write_bytes(raw)
    elif harm == "plan":
        (tmp_path / "plan.parquet").write_bytes(b"PAR1")
    elif harm == "manifest":
        (tmp_path / "manifest.json").unlink()
        (tmp_path / "runs").rename(tmp_path.parent / f"{tmp_path.name}-gone")
        for name in ("edges", "plan.parquet", "scenario.yaml"):
            (tmp_path / name).rename(tmp_path.parent / f"{tmp_path.name}-{name}")
    elif harm == "half":
        (tmp_path / "runs" / "part-000009.parquet.123.unfinished").write_bytes(b"half")
    elif harm == "foreign":
        parts[3].replace(parts[0])
        (tmp_path / "runs" / "part-000099.parquet").write_bytes(parts[1].read_bytes())
        kept = bytes_of(tmp_path)["runs/part-000099.parquet"]
    else:
        (tmp_path / "log" / "parts.txt").write_bytes(b"\xff\x00 nonsense 1 2\n")
    run_study(study_in(tmp_path), inline())
    made = bytes_of(tmp_path)
    assert made.pop("runs/part-000099.parquet", None) == (kept if harm == "foreign" else None)
    assert made == reference


def test_a_finished_study_is_not_made_again_unless_it_is_damaged(reference, tmp_path):
    run_study(study_in(tmp_path), inline())
    idle = FakeModel(BASES, raises_at=frozenset(range(150)))
    manifest = run_study(study_in(tmp_path, idle), inline())
    assert manifest.failed == 0
    (tmp_path / "edges" / "part-000003.parquet").unlink()
    assert manifests.damage(tmp_path, manifest) == ["edges/part-000003.parquet: is gone"]
    run_study(study_in(tmp_path), inline())
    assert bytes_of(tmp_path) == reference


def test_another_study_is_refused_with_the_difference(tmp_path):
    run_study(study_in(tmp_path), inline())
    with pytest.raises(Mismatch, match="seed was 3, now 4"):
        run_study(study_in(tmp_path, seed=4), inline())


def test_another_version_is_refused(tmp_path, monkeypatch):
    run_study(study_in(tmp_path), inline())
    monkeypatch.setattr(
        "edgewear.dataset.manifest.versions", lambda: {"edgewear": "9.9", "numpy": "0"}
    )
    with pytest.raises(Mismatch, match=r"edgewear .*, here is 9\.9"):
        run_study(study_in(tmp_path), inline())


def test_a_folder_with_other_things_in_it_is_left_alone(tmp_path):
    (tmp_path / "thesis.txt").write_text("years of work")
    with pytest.raises(Mismatch, match=r"thesis\.txt"):
        run_study(study_in(tmp_path), inline())


def test_only_one_writer_proceeds(reference, tmp_path):
    started, go_on, errors = threading.Event(), threading.Event(), []

    def pause(progress):
        started.set()
        go_on.wait(20)

    def first():
        try:
            run_study(study_in(tmp_path), inline(), pause)
        except Exception as error:
            errors.append(error)

    thread = threading.Thread(target=first)
    thread.start()
    assert started.wait(20)
    with pytest.raises(Locked):
        run_study(study_in(tmp_path), inline())
    go_on.set()
    thread.join(20)
    assert errors == []
    assert bytes_of(tmp_path) == reference
    with locked(tmp_path):
        pass


def test_an_uncertainty_added_changes_no_other_draw(tmp_path):
    both, one = tmp_path / "both", tmp_path / "one"
    run_study(study_in(both), inline())
    fewer = study_in(one, FakeModel(BASES, known=(MASS,)))
    plan = replace(fewer.plan, uncertainties=dict.fromkeys(BASES, (FRICTION,)))
    run_study(replace(fewer, plan=plan), inline())
    name = "friction/kerb"
    columns = [pq.read_table(root / "plan.parquet").column(name) for root in (both, one)]
    assert columns[0].equals(columns[1])


def test_all_options_meet_the_same_world(tmp_path):
    run_study(study_in(tmp_path), inline())
    plan = pq.read_table(tmp_path / "plan.parquet").to_pandas()
    by_option = plan.pivot(index="replicate", columns="option", values="friction/kerb")
    assert by_option.nunique(axis=1).eq(1).all()
    assert by_option.shape == (50, 3)


def test_every_field_says_its_unit_and_meaning(tmp_path):
    run_study(study_in(tmp_path), inline())
    for name in ("plan.parquet", "runs/part-000000.parquet", "edges/part-000000.parquet"):
        for column in pq.read_schema(tmp_path / name):
            assert set(column.metadata) >= {b"unit", b"meaning"}
            assert column.metadata[b"meaning"]


def test_a_chunk_s_rows_are_found_in_a_plan_of_several_groups(tmp_path, monkeypatch):
    monkeypatch.setattr("edgewear.study.plan.ROWS_A_GROUP", 45)
    plan = study_in(tmp_path).plan
    write_plan(tmp_path, plan, "s")
    assert pq.ParquetFile(tmp_path / "plan.parquet").num_row_groups == 4
    for chunk in range(15):
        read, wanted = planned_rows(tmp_path, chunk, 10), plan.block(10 * chunk, 10)
        assert read.pop("chunk").tolist() == [chunk] * 10
        assert {name: c.tolist() for name, c in read.items()} == {
            name: c.tolist() for name, c in wanted.items()
        }
