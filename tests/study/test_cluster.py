"""The same bytes from an existing cluster, one of whose workers is killed."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from edgewear.errors import UsageError
from edgewear.study.runner import run_study
from edgewear.study.worker_pool import cluster, inline
from support.studies import FakeModel, bytes_of
from support.sweeper import BASES, study_in

pytestmark = pytest.mark.long

TESTS = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def address(tmp_path_factory):
    """A scheduler and two workers, each a process on the loopback interface."""
    pytest.importorskip("distributed")
    folder = tmp_path_factory.mktemp("cluster")
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([str(TESTS), *sys.path])}
    file = folder / "scheduler.json"
    quiet = {
        "env": environment,
        "stdout": subprocess.DEVNULL,
        "stderr": subprocess.DEVNULL,
        "start_new_session": True,
    }
    common = [
        sys.executable,
        "-m",
        "distributed.cli.dask_scheduler",
        "--host",
        "127.0.0.1",
        "--port",
        "0",
        "--no-dashboard",
        "--scheduler-file",
        str(file),
    ]
    running = [subprocess.Popen(common, **quiet)]
    worker = [
        sys.executable,
        "-m",
        "distributed.cli.dask_worker",
        "--scheduler-file",
        str(file),
        "--nthreads",
        "1",
        "--no-dashboard",
        "--local-directory",
        str(folder),
    ]
    running += [subprocess.Popen(worker, **quiet) for _ in range(2)]
    from distributed import Client

    deadline = time.monotonic() + 60
    while not file.exists() and time.monotonic() < deadline:
        time.sleep(0.1)
    with Client(scheduler_file=str(file)) as client:
        client.wait_for_workers(2, timeout=60)
        found = client.scheduler.address
    yield found
    for process in running:
        os.killpg(process.pid, signal.SIGKILL)  # a worker's own processes are of its group
        process.wait(30)


@pytest.mark.filterwarnings("ignore")  # what the cluster's client warns about is not ours
def test_a_cluster_one_of_whose_workers_dies_gives_the_same_bytes(address, tmp_path):
    here, there = tmp_path / "here", tmp_path / "there"
    run_study(study_in(here), inline())
    bomb = tmp_path / "bomb"
    bomb.touch()
    model = FakeModel(BASES, kills_once=str(bomb))
    run_study(study_in(there, model), cluster(address))
    assert not bomb.exists()
    assert bytes_of(there) == bytes_of(here)


@pytest.mark.filterwarnings("ignore")
def test_a_scheduler_that_does_not_answer_is_said_so(monkeypatch):
    pytest.importorskip("distributed")
    monkeypatch.setattr("edgewear.study.worker_pool.CLUSTER_TIMEOUT_S", 1)
    with pytest.raises(UsageError, match="no dask scheduler answers at tcp://127"):
        cluster("tcp://127.0.0.1:9")


@pytest.mark.filterwarnings("ignore")
def test_a_scheduler_without_workers_is_said_so(monkeypatch):
    distributed = pytest.importorskip("distributed")
    monkeypatch.setattr("edgewear.study.worker_pool.CLUSTER_TIMEOUT_S", 2)
    nobody = distributed.LocalCluster(n_workers=0, dashboard_address=None)
    said = "has no workers: start some with `dask worker tcp"
    with nobody as alone, pytest.raises(UsageError, match=said):
        cluster(alone.scheduler_address)
