"""A runner that dies takes its workers with it, however it dies, and nothing is lost."""

from __future__ import annotations

import os
import random
import signal
import time
from pathlib import Path

import pytest

from edgewear.study.runner import run_study
from edgewear.study.worker_pool import inline
from study.test_hardships import children_of, start
from support.studies import bytes_of
from support.sweeper import study_in

GONE_S = 5.0
"""Time in which every process of a runner that died must be gone, beside what a start takes."""

STARTS = 4.0
"""A worker that is only starting looks for its runner when its modules are loaded: as long as the
runner took to load the same, a few times that where several load at once."""

BUSY_S = 0.004
"""Time a run takes: a chunk is with a worker for 40 ms, the study for some seconds."""


@pytest.fixture(scope="module")
def reference(tmp_path_factory):
    root = tmp_path_factory.mktemp("reference")
    run_study(study_in(root), inline())
    return bytes_of(root)


def alive(group):
    """Processes of a group that are there and no zombies."""
    found = []
    for entry in Path("/proc").iterdir():
        if not entry.name.isdecimal():
            continue
        try:
            after_name = (entry / "stat").read_text().rpartition(")")[2].split()
        except OSError:
            continue
        if int(after_name[2]) == group and after_name[0] != "Z":
            found.append(int(entry.name))
    return found


def end_one(root, number, chance):
    """Start a runner with two workers, end it at a random moment; give its exit code."""
    began = time.monotonic()
    runner = start(root, 2, BUSY_S)
    try:
        runner.stdout.readline()
        gone_s = GONE_S + STARTS * (time.monotonic() - began)
        wait_for_worker(runner)
        time.sleep(chance.uniform(0.0, 2.0))
        os.kill(runner.pid, number)
        code = runner.wait(timeout=gone_s)
        until = time.monotonic() + gone_s
        while (left := alive(runner.pid)) and time.monotonic() < until:
            time.sleep(0.05)
        assert left == []
        return code
    finally:
        for process in alive(runner.pid):
            os.kill(process, signal.SIGKILL)
        runner.communicate(timeout=20)


def wait_for_worker(runner):
    """Wait until a worker process is there, or the study is over before one was seen."""
    for _ in range(600):
        if len(children_of(runner.pid)) > 1 or runner.poll() is not None:
            return
        time.sleep(0.05)


def ended_and_resumed(root, number, chance, reference):
    code = end_one(root, number, chance)
    assert code in (-number, 130, 0, 1)  # as the system ends it where it does not listen yet
    last = start(root, 0, 0.0)
    _, told = last.communicate(timeout=120)
    assert last.returncode == 0, told.decode()
    assert bytes_of(root) == reference


def test_no_process_is_left_of_a_runner_that_is_killed(reference, tmp_path):
    ended_and_resumed(tmp_path, signal.SIGKILL, random.Random(9), reference)


@pytest.mark.long
@pytest.mark.parametrize("seed", range(100))
def test_no_process_is_left_a_hundred_times(seed, reference, tmp_path):
    chance = random.Random(1000 + seed)
    number = chance.choice([signal.SIGKILL, signal.SIGTERM, signal.SIGHUP])
    ended_and_resumed(tmp_path, number, chance, reference)


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_a_request_from_outside_is_an_orderly_end(number, reference, tmp_path):
    from edgewear.errors import Interrupted

    def stop(progress):
        if progress.done == 40:
            signal.raise_signal(number)

    outside = signal.signal(number, signal.SIG_DFL)  # what runs under nohup is deaf to HUP
    try:
        with pytest.raises(Interrupted):
            run_study(study_in(tmp_path), inline(), stop)
        assert signal.getsignal(number) == signal.SIG_DFL
    finally:
        signal.signal(number, outside)
    run_study(study_in(tmp_path), inline())
    assert bytes_of(tmp_path) == reference


def test_foreign_files_are_left_alone_and_do_not_start_a_study_again(reference, tmp_path):
    from edgewear.dataset import manifest as manifests
    from support.studies import FakeModel
    from support.sweeper import BASES

    manifest = run_study(study_in(tmp_path), inline())
    notes = tmp_path / "runs" / "notes.txt"
    notes.write_text("mine")
    assert manifests.foreign(tmp_path, manifest) == ["runs/notes.txt"]
    idle = FakeModel(BASES, raises_at=frozenset(range(150)))
    assert run_study(study_in(tmp_path, idle), inline()).failed == 0
    (tmp_path / "edges" / "part-000003.parquet").unlink()
    run_study(study_in(tmp_path), inline())
    assert notes.read_text() == "mine"
    mine = bytes_of(tmp_path)
    assert mine.pop("runs/notes.txt")
    assert mine == reference
    manifests.clear(tmp_path, manifest, ())
    assert [path.name for path in (tmp_path / "runs").iterdir()] == ["notes.txt"]
