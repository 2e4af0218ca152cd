"""How long the demo comparison takes, the first time and then, and where its time goes.

`python tests/bench/compare.py --json` prints one object. `first` and `warm` are the command
`edgewear compare scenarios/demo.yaml --workers 2` with and without empty caches, into a new folder:
wall_s, and cpu_s of it and its workers, which other users of the machine disturb less; `load` is
the machine's when it began, and above 0.3 a wall says little. kernel_share: of the processor
time of the same in one process, ranking and page included. outside_kernel_share: of playing
one-hour jobs from their tape and reading what came out. For jobs with people on a clock see
`tests/bench/job.py`.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from job import ONE, shares, watching

SCENARIOS = Path(__file__).parents[2] / "scenarios"
REPLICATES = 256
MAIN = "from edgewear.cli import main; main()"


def command(out: Path, replicates: int, cache: Path) -> dict[str, float]:
    """Wall and processor time of the command line, kernels kept in `cache` [s]."""
    words = ["compare", str(SCENARIOS / "demo.yaml"), "--replicates", str(replicates)]
    given = [*words, "--workers", "2", "--quiet", "--json", "--out", str(out)]
    load, before, begin = os.getloadavg()[0], os.times(), time.perf_counter()
    subprocess.run(
        [sys.executable, "-c", MAIN, *given],
        env={**os.environ, "EDGEWEAR_CACHE": str(cache)},
        stdout=subprocess.DEVNULL,
        check=True,
    )
    wall_s, after = time.perf_counter() - begin, os.times()
    cpu_s = after.children_user + after.children_system
    cpu_s -= before.children_user + before.children_system
    return {"wall_s": wall_s, "cpu_s": cpu_s, "load": load}


def first_and_warm(replicates: int, turns: int = 3) -> dict[str, Any]:
    """The demo comparison with empty caches, and the quickest of a few more."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        first, *warm = (
            command(folder / f"out-{turn}", replicates, folder / "kernels")
            for turn in range(1 + turns)
        )
    return {"first": first, "warm": min(warm, key=lambda one: one["wall_s"])}


def kernel_share(replicates: int) -> float:
    """Share of the demo's processor time in the step kernel, everything in one process."""
    from edgewear.mechanics import results
    from edgewear.report import write_report
    from edgewear.study.compare import compare

    def whole(replicates: int) -> None:
        with tempfile.TemporaryDirectory() as folder:
            compare(SCENARIOS / "demo.yaml", replicates, workers=1, out=folder)
            write_report([Path(folder)], Path(folder))

    whole(2)
    with watching(results, "play") as watch:
        begin = time.process_time()
        whole(replicates)
        return watch.taken()[0] / (time.process_time() - begin)


def outside_kernel_share(runs: int = 12, turns: int = 5) -> float:
    """Share of the processor time of one-hour jobs that passes outside the step kernel."""
    import numpy as np

    from edgewear.engine.batch import play_batch
    from edgewear.scenario import load_text
    from edgewear.study.model import ScenarioModel

    ready = ScenarioModel.of(load_text(ONE), 1, 2_000, edges=True).ready("padded")

    def turn() -> None:
        play_batch(ready.case, ready.tape, {}, np.arange(runs), 1, 2_000, edges=True)

    return shares(turn, turns)["outside_kernel_share"]


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--replicates", type=int, default=REPLICATES)
    parser.add_argument("--warm", type=int, default=3, help="how often, after the first")
    given = parser.parse_args()
    figures = {
        **first_and_warm(given.replicates, given.warm),
        "kernel_share": kernel_share(given.replicates),
        "outside_kernel_share": outside_kernel_share(),
    }
    print(json.dumps(figures, indent=None if given.json else 1))


if __name__ == "__main__":
    sys.exit(main())
