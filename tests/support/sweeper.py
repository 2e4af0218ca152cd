"""Runs the study without physics as a process of its own, to be killed."""

from __future__ import annotations

import sys
from pathlib import Path

from edgewear.dataset import manifest as manifests
from edgewear.study.plan import ComparePlan
from edgewear.study.runner import Study, run_study
from edgewear.study.task import Task
from edgewear.study.worker_pool import inline, processes
from support.studies import FRICTION, MASS, FakeModel

BASES = {"bare": 0.9, "pad": 0.4, "roller": 0.2}


def study_in(root, model=None, replicates=50, seed=3, steps_a_row=200_000.0, busy_s=0.0, **about):
    """A comparison of three options in chunks of ten rows."""
    model = model or FakeModel(BASES, busy_s=busy_s)
    plan = ComparePlan(dict.fromkeys(BASES, (FRICTION, MASS)), replicates, seed, steps_a_row)
    identity = manifests.identity("compare", {"seed": str(seed), "n": str(replicates)})
    task = Task(str(root), identity, model, edges=True, chunk_rows=plan.chunk_rows)
    files = {"scenario.yaml": b"title: made up\n"}
    return Study(Path(root), "compare", plan, task, files, {"seed": seed, **about})


if __name__ == "__main__":
    root, workers = sys.argv[1], int(sys.argv[2])
    print("begins", flush=True)
    gang = processes(workers) if workers else inline()
    run_study(study_in(Path(root), busy_s=float(sys.argv[3])), gang)
