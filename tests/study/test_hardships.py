"""Killed, starved and damaged: nothing is lost, nothing goes unnoticed, the bytes stay the same."""

from __future__ import annotations

import os
import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from edgewear.dataset import manifest as manifests
from edgewear.dataset.door import TEMPORARY
from edgewear.dataset.reading import open_dataset
from edgewear.errors import CannotCreate, CannotWrite, DatasetError, Unfinished
from edgewear.study.runner import run_study
from edgewear.study.sweeping.sweep import verify
from edgewear.study.worker_pool import inline
from support.hardships import damage_something, noticed
from support.studies import bytes_of
from support.sweeper import study_in

TESTS = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def finished(tmp_path_factory):
    root = tmp_path_factory.mktemp("finished")
    run_study(study_in(root), inline())
    return root


def start(root, workers, busy_s):
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([str(TESTS), *sys.path])}
    command = [sys.executable, "-m", "support.sweeper", str(root), str(workers), str(busy_s)]
    return subprocess.Popen(
        command,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        start_new_session=True,
    )


def kill_and_resume(root, kills, chance, workers=0):
    """Kill a runner, or one of its workers, at random moments, then let it finish."""
    for _ in range(kills):
        process = start(root, workers, 0.002)
        process.stdout.readline()
        time.sleep(chance.uniform(0.0, 0.6 if workers else 0.35))
        victims = [process.pid]
        if workers and chance.random() < 0.5:
            victims = children_of(process.pid) or victims
        os.kill(chance.choice(victims), signal.SIGKILL)
        if victims == [process.pid]:
            os.killpg(process.pid, signal.SIGKILL)
        process.communicate(timeout=120)
    last = start(root, workers, 0.0)
    _, told = last.communicate(timeout=120)
    assert last.returncode == 0, told.decode()


def children_of(pid):
    found = Path(f"/proc/{pid}/task/{pid}/children")
    return [int(child) for child in found.read_text().split()] if found.exists() else []


def test_a_runner_killed_twice_leaves_the_same_bytes_and_no_stray_files(finished, tmp_path):
    kill_and_resume(tmp_path, 2, random.Random(1))
    assert bytes_of(tmp_path) == bytes_of(finished)
    assert not list(tmp_path.rglob(f"*{TEMPORARY}"))


@pytest.mark.long
@pytest.mark.parametrize("seed", range(20))
def test_killed_a_hundred_times_over_twenty_studies(seed, finished, tmp_path):
    kill_and_resume(tmp_path, 5, random.Random(seed), workers=2)
    assert bytes_of(tmp_path) == bytes_of(finished)
    assert not list(tmp_path.rglob(f"*{TEMPORARY}"))


def harmed_and_mended(finished, folder, seed):
    """Damage a copy, see that it is noticed, and mend it with the same command.

    A file that was added is nobody's to remove: it stays as it is, and goes on being told of.
    """
    chance = random.Random(seed)
    shutil.copytree(finished, folder)
    before = bytes_of(folder)
    done = damage_something(folder, chance)
    if bytes_of(folder) == before:
        return
    assert noticed(folder), done
    harmed = bytes_of(folder)
    added = {name: harmed[name] for name in harmed.keys() - before.keys()}
    if (folder / manifests.NAME).is_file() and "manifest" not in done:
        run_study(study_in(folder), inline())
        assert bytes_of(folder) == before | added, done
        assert noticed(folder) == bool(added), done


def test_random_damages_are_noticed_and_mended(finished, tmp_path):
    for seed in range(25):
        harmed_and_mended(finished, tmp_path / str(seed), seed)


@pytest.mark.long
def test_a_thousand_random_damages_are_noticed_and_mended(finished, tmp_path):
    for seed in range(1000, 2000):
        harmed_and_mended(finished, tmp_path / str(seed), seed)
        shutil.rmtree(tmp_path / str(seed))


def test_a_part_of_another_study_is_noticed_and_replaced(finished, tmp_path):
    other, mine = tmp_path / "other", tmp_path / "mine"
    run_study(study_in(other, seed=4), inline())
    shutil.copytree(finished, mine)
    shutil.copy(other / "runs/part-000002.parquet", mine / "runs/part-000002.parquet")
    assert [sentence.partition(":")[0] for sentence in verify(mine)] == ["runs/part-000002.parquet"]
    with pytest.raises(DatasetError):
        open_dataset(mine).runs()
    run_study(study_in(mine), inline())
    assert bytes_of(mine) == bytes_of(finished)


def test_half_a_study_verifies_as_unfinished(tmp_path):
    def stop(progress):
        if progress.done:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run_study(study_in(tmp_path), inline(), stop)
    with pytest.raises(Unfinished, match="the same command"):
        verify(tmp_path)


def test_nowhere_to_write_is_said_so():
    with pytest.raises(CannotCreate, match="/proc/edgewear"):
        run_study(study_in(Path("/proc/edgewear/out")), inline())


@pytest.fixture
def small_disk(tmp_path):
    folder = tmp_path / "disk"
    folder.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=112k", "tmpfs", str(folder)], capture_output=True
    )
    if mounted.returncode:
        pytest.skip("mounting a small file system needs rights this account does not have")
    yield folder
    subprocess.run(["umount", str(folder)], check=True)


def test_a_full_disk_loses_nothing_that_was_finished(finished, small_disk):
    with pytest.raises(CannotWrite, match="No space left"):
        run_study(study_in(small_disk), inline())
    kept = {name: sha for name, sha in bytes_of(small_disk).items() if name.startswith("runs/")}
    assert kept.items() <= bytes_of(finished).items()
    assert not list(small_disk.rglob(f"*{TEMPORARY}"))
    subprocess.run(["mount", "-o", "remount,size=8m", str(small_disk)], check=True)
    run_study(study_in(small_disk), inline())
    assert bytes_of(small_disk) == bytes_of(finished)


def test_a_read_only_disk_is_said_so(small_disk):
    subprocess.run(["mount", "-o", "remount,ro", str(small_disk)], check=True)
    with pytest.raises(CannotCreate, match=r"[Rr]ead-only"):
        run_study(study_in(small_disk / "out"), inline())


@pytest.mark.long
def test_two_starters_at_once_one_proceeds(finished, tmp_path):
    both = [start(tmp_path, 0, 0.005) for _ in range(2)]
    told = [process.communicate(timeout=120)[1].decode() for process in both]
    assert sorted(process.returncode for process in both) == [0, 1]
    assert sum("another process writes to this folder now" in text for text in told) == 1
    assert bytes_of(tmp_path) == bytes_of(finished)
