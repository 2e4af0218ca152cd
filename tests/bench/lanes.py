"""What runs side by side gain: reference ascents, all parameters different, on one core.

Over two and four edges, the free length above the one and its bend are shared out evenly.
`python tests/bench/lanes.py --json` prints one object. `us_one_after_the_other` and
`us_side_by_side`: processor time of one ascent in the kernel alone, medians; `ratio`: the median of
pairs played in turns; `differ`: figures in which any bit differs; `widest`: numbers that the
processor takes in one instruction.
"""

from __future__ import annotations

import argparse
import json
import math
import statistics
import sys
import time
from pathlib import Path
from typing import Any

import llvmlite.binding
import numpy as np

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent)]

import kernel  # noqa: E402

from edgewear import mechanics  # noqa: E402
from edgewear.mechanics import many as together  # noqa: E402
from support.lines import direct  # noqa: E402

RUNS, TURNS = 500, 11
OVER = 1, 2, 4
"""Edges."""
SIDE_BY_SIDE, IN_TURN = 1, math.inf
"""Least runs from which they are played side by side."""


def shared_out(one: Any, edges: int) -> Any:
    """Buffers of a line with the free length above one edge, and its bend, given to several."""
    each = one.edges["after_m"][0] / edges, math.degrees(one.edges["bend_rad"][0]) / edges
    base = direct([each[0]] * edges, [each[1]] * edges)
    count, after, bend = (base.line["edge_count"], base.edges["after_m"], base.edges["bend_rad"])
    kept = count.copy(), after.copy(), bend.copy()
    base.line[:], base.edges[:] = one.line, one.edges[0]
    base.line["edge_count"], base.edges["after_m"], base.edges["bend_rad"] = kept
    return base


def ascents(runs: int, over: int) -> tuple[Any, ...]:
    """Arguments of `play_many`: the reference ascent, its numbers spread as `sweep.py` does."""
    base, load, strokes = kernel.reference()
    people, wears = np.repeat(base.person, runs), np.repeat(base.wear, runs)
    base = shared_out(base, over)
    rng = np.random.default_rng(1)
    lines = np.repeat(base.line, runs)
    edges = np.repeat(base.edges[None], runs, 0)
    lines["stiffness_n"] *= rng.uniform(0.9, 1.1, runs)
    lines["viscous_s"] = rng.uniform(0.02, 0.04, runs)
    people["mass_kg"] = rng.uniform(80.0, 100.0, runs)
    people["body_stiffness_n_m"] = rng.uniform(8e3, 12e3, runs)
    people["force_ratio"] = rng.uniform(1.4, 1.6, runs)
    people["amplitude_cv"], people["timing_cv"] = 0.2, 0.15
    edges["friction"] = rng.uniform(0.16, 0.24, edges.shape)
    edges["radius_m"] = rng.uniform(0.8e-3, 1.2e-3, edges.shape)
    tapes = np.repeat(np.concatenate([load, strokes])[None], runs, 0)
    return base, lines, edges, people, wears, tapes, rng.standard_normal((runs, 60, 2))


def played(given: tuple[Any, ...], least: float) -> tuple[float, Any]:
    """Processor time of an ascent [us], and what the runs came to."""
    together.LEAST_RUNS = least
    base, *numbers, tapes, variation = given
    begin = time.process_time()
    many = mechanics.play_many(base, *numbers, tapes.copy(), variation)
    return 1e6 * (time.process_time() - begin) / len(tapes), many


def measured(runs: int, turns: int, over: int) -> dict[str, Any]:
    """Play pairs in turns."""
    given = ascents(runs, over)
    first = [played(given, least)[1] for least in (SIDE_BY_SIDE, IN_TURN)]
    pairs = [(played(given, IN_TURN)[0], played(given, SIDE_BY_SIDE)[0]) for _ in range(turns)]
    return {
        "edges": over,
        "us_one_after_the_other": round(statistics.median(one for one, _ in pairs), 1),
        "us_side_by_side": round(statistics.median(other for _, other in pairs), 1),
        "ratio": round(statistics.median(one / other for one, other in pairs), 2),
        "differ": sum(a.tobytes() != b.tobytes() for a, b in zip(*first, strict=True)),
        "runs": runs,
    }


def widest() -> int:
    """Numbers that the processor takes in one instruction."""
    features = llvmlite.binding.get_host_cpu_features()
    return 8 if features.get("avx512f") else 4 if features.get("avx2") else 2


def main() -> None:
    """Print what was measured."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--json", action="store_true", help="print one object")
    parser.add_argument("--runs", type=int, default=RUNS)
    given = parser.parse_args()
    found = [measured(given.runs, TURNS, over) for over in OVER]
    if given.json:
        print(json.dumps({"widest": widest(), "ascents": found}))
        return
    print(f"numbers an instruction: {widest()}")
    for one in found:
        print(", ".join(f"{key} {value}" for key, value in one.items()))


if __name__ == "__main__":
    main()
