"""How long the demo comparison takes, and how much of a job's time is not spent in the kernels.

`python tests/bench/compare.py --json` prints one object: `demo_s`, the demo with 256 replicates
from scenario to ranking, warm; `outside_kernel_share`, of playing one-hour jobs from their tape and
reading what came out. For jobs with people on a clock see `tests/bench/job.py`.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
import time
from pathlib import Path

from job import ONE, shares

SCENARIOS = Path(__file__).parents[2] / "scenarios"
REPLICATES = 256


def demo_s(replicates: int) -> float:
    """Seconds of the demo comparison, kernels and processes warm."""
    from edgewear.study.compare import compare

    with tempfile.TemporaryDirectory() as folder:
        compare(SCENARIOS / "demo.yaml", replicates=2, workers=1, out=Path(folder) / "warm")
        begin = time.perf_counter()
        compare(SCENARIOS / "demo.yaml", replicates=replicates, out=Path(folder) / "measured")
        return time.perf_counter() - begin


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
    given = parser.parse_args()
    figures = {
        "demo_s": demo_s(given.replicates),
        "outside_kernel_share": outside_kernel_share(),
    }
    if given.json:
        print(json.dumps(figures))
    else:
        for name, value in figures.items():
            print(f"{name:24} {value:.4g}")


if __name__ == "__main__":
    sys.exit(main())
