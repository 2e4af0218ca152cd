"""How long the demo comparison takes, and how much of a job's time is not spent in the kernels.

`python tests/bench/compare.py --json` prints one object: `demo_s`, the demo with 256 replicates
from scenario to ranking, warm; `outside_kernel_share`, of playing and reading one-hour jobs.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
import time
from pathlib import Path

SCENARIOS = Path(__file__).parents[2] / "scenarios"
REPLICATES = 256

HOUR = """\
edgewear: 1
title: One hour at work on three edges
setting: test
target: 50 %
anchors: {post: {out: -6 m, up: 0.5 m}}
edges:
  kerb:   {out: -0.5 m, up: 0.2 m, is: worn masonry arris}
  flange: {out: 0.3 m, up: -1 m, radius: 2 mm, surface: steel}
  ledge:  {out: 0.6 m, up: -3.5 m, is: chamfered concrete}
ropes: {rope: {like: low-stretch 11, length: 60 m}}
people: {climber: {mass: 95 kg, technique: normal, start: 6 m}}
options:
  padded: {anchor: post, rope: rope, protect: {kerb: pad, flange: sleeve, ledge: pad}}
job:
  - descend: 12 m
  - work: {for: 50 min, sway: 5 cm}
  - ascend: {height: 12 m, technique: jerky}
  - inspect: {by: edge attendant}
"""


def demo_s(replicates: int) -> float:
    """Seconds of the demo comparison, kernels and processes warm."""
    from edgewear.study.compare import compare

    with tempfile.TemporaryDirectory() as folder:
        compare(SCENARIOS / "demo.yaml", replicates=2, workers=1, out=Path(folder) / "warm")
        begin = time.perf_counter()
        compare(SCENARIOS / "demo.yaml", replicates=replicates, out=Path(folder) / "measured")
        return time.perf_counter() - begin


def outside_kernel_share(runs: int = 12) -> float:
    """Share of the time of one-hour jobs that passes outside the step kernel."""
    import numpy as np

    from edgewear import mechanics
    from edgewear.engine import player
    from edgewear.engine.batch import play_batch
    from edgewear.scenario import load_text
    from edgewear.study.model import ScenarioModel

    model = ScenarioModel.of(load_text(HOUR), 1, 2_000, edges=True)
    ready = model.ready("padded")
    inside = 0.0
    true = mechanics.advance

    def timed(*given, **named):  # type: ignore[no-untyped-def]
        nonlocal inside
        begin = time.perf_counter()
        found = true(*given, **named)
        inside += time.perf_counter() - begin
        return found

    def play(count: int) -> None:
        play_batch(ready.case, ready.tape, {}, np.arange(count), 1, 2_000, edges=True)

    play(1)
    player.mechanics.advance = timed
    try:
        begin = time.perf_counter()
        play(runs)
        whole = time.perf_counter() - begin
    finally:
        player.mechanics.advance = true
    return (whole - inside) / whole


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
