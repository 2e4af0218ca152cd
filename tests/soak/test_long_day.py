"""Hours of work in one process: sweeps, comparisons, changes on a board, over and over.

    EDGEWEAR_SOAK_MINUTES=120 python -m pytest -n 0 -s -m long tests/soak/test_long_day.py

Without the number it goes on for two minutes.
"""

from __future__ import annotations

import gc
import os
import shutil
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from edgewear.study.compare import compare
from edgewear.study.sweeping.sweep import sweep
from support.boards import SMALL, application_of, opened, post, quiet_board

MINUTES = float(os.environ.get("EDGEWEAR_SOAK_MINUTES", "2"))
STUDY = SMALL + "study: {grid: {people/hand/mass: [70 kg, 80 kg]}, replicates: 4, seed: 3}\n"
WARM_ROUNDS = 3
"""Rounds until libraries have loaded what they load and keep."""
GROWTH = 0.05
"""Share that memory may grow from the first third of the rounds to the last: allocators keep pages
in another order each round, which is a few percent; a leak of one dataset a round is more."""


def resident_mib() -> float:
    """Memory of this process that lies in RAM."""
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 2**20


def handles() -> int:
    """Files, pipes and sockets that are open."""
    return len(os.listdir("/proc/self/fd"))


def children() -> set[str]:
    """Processes that this one started and that are there still."""
    return set(Path(f"/proc/self/task/{os.getpid()}/children").read_text().split())


def one_round(folder: Path, number: int) -> None:
    """Do once what is done all day."""
    study, job = folder / "study.yaml", folder / "job.yaml"
    study.write_text(STUDY.replace("seed: 3", f"seed: {number}"))
    workers = 1 + number % 2
    sweep(study, folder / "swept", workers=workers)
    compare(job, replicates=8, seed=number, workers=workers, out=folder / "compared")
    shutil.rmtree(folder / "swept")
    shutil.rmtree(folder / "compared")


def change_mass(app: Any, revision: int) -> None:
    """Change something on the board, which counts its changes."""
    change = {"do": "set", "address": "people/hand/mass", "value": f"{81 + revision % 2} kg"}
    assert post(app, "change", {"revision": revision, "changes": [change]}).code == 200


@pytest.mark.long
def test_hours_of_work_leave_memory_flat_and_nothing_open(tmp_path: Path) -> None:
    app = application_of(quiet_board(opened(tmp_path, SMALL)))
    end = time.monotonic() + 60 * MINUTES
    seen: list[tuple[float, int, int]] = []
    while len(seen) < 3 * WARM_ROUNDS or time.monotonic() < end:
        one_round(tmp_path, len(seen))
        change_mass(app, len(seen))
        gc.collect()
        seen.append((resident_mib(), handles(), len(children())))
    figures = np.array(seen[WARM_ROUNDS:])
    third = len(figures) // 3
    before, after = figures[:third, 0].mean(), figures[-third:, 0].mean()
    told = f"{len(seen)} rounds: {before:.0f} MiB, at the end {after:.0f} MiB"
    print(f"{told}; {seen[-1][1]} handles, {seen[-1][2]} processes")
    assert after <= before * (1 + GROWTH), told
    assert figures[:, 1].max() <= figures[0, 1] + 2, "handles"  # one more may be closing
    assert figures[-1, 2] <= figures[0, 2], "processes"
