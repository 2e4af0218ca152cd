"""What runs side by side cost beside the same runs one after the other; kernel alone, one core.

`python tests/bench/lanes.py --json` prints one object: `ns_per_step` in lanes and alone, and their
`ratio`, the median of turns taken in the same run, by number of edges. The runs are the reference
ascent with numbers of their own: stiffness, damping, mass, friction and strokes. All times are
processor time; `features` says how wide the processor's registers are.
"""

from __future__ import annotations

import argparse
import json
import statistics
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent))

from edgewear import mechanics  # noqa: E402
from edgewear.layout import Kind  # noqa: E402
from support.lines import JERKY, direct, move  # noqa: E402

RUNS, TURNS = 256, 7
EDGES = (1, 2, 4)


def runs(edges: int) -> tuple[Any, ...]:
    """Arguments of `play_many`: a 5 m ascent by so many runs."""
    rng = np.random.default_rng(1)
    base = direct([20.0 / edges] * edges, [30.0 / edges] * edges)
    lines, people, wears = (np.repeat(one, RUNS) for one in (base.line, base.person, base.wear))
    edge = np.repeat(base.edges[None], RUNS, 0)
    lines["stiffness_n"] *= rng.uniform(0.9, 1.1, RUNS)
    lines["viscous_s"] *= rng.uniform(0.7, 1.3, RUNS)
    people["mass_kg"] *= rng.uniform(0.9, 1.1, RUNS)
    people["amplitude_cv"], people["timing_cv"] = 0.2, 0.15
    edge["friction"] *= rng.uniform(0.8, 1.2, edge.shape)
    tape = np.concatenate([move(Kind.LOAD, depth_m=8.0), move(Kind.STROKES, length_m=5.0, **JERKY)])
    tapes = np.repeat(tape[None], RUNS, 0)
    return base, lines, edge, people, wears, tapes, rng.standard_normal((RUNS, 60, 2))


def in_lanes_s(given: tuple[Any, ...]) -> tuple[float, int]:
    """Seconds of all runs in lanes, and the steps they made."""
    *rest, tapes, variation = given
    begin = time.process_time()
    many = mechanics.play_many(*rest, tapes.copy(), variation)
    return time.process_time() - begin, int(many.state["steps"].sum())


def alone_s(given: tuple[Any, ...]) -> float:
    """Seconds of the kernel calls of all runs, one after the other."""
    base, lines, edges, people, _, tapes, variation = given
    spent = 0.0
    for run in range(RUNS):
        mechanics.clear(base)
        base.line[0], base.person[0], base.edges[:] = lines[run], people[run], edges[run]
        load, climb = (tapes[run, at : at + 1].copy() for at in (0, 1))
        begin = time.process_time()
        mechanics.advance(base, load, variation[run])
        mechanics.advance(base, climb, variation[run])
        spent += time.process_time() - begin
    return spent


def measure(edges: int) -> dict[str, float]:
    """Figures for a line over so many edges."""
    given = runs(edges)
    in_lanes_s(given), alone_s(given)
    lanes, alone = [], []
    for _ in range(TURNS):
        seconds, steps = in_lanes_s(given)
        lanes.append(1e9 * seconds / steps)
        alone.append(1e9 * alone_s(given) / steps)
    return {
        "ns_per_step_lanes": statistics.median(lanes),
        "ns_per_step_alone": statistics.median(alone),
        "ratio": statistics.median(b / a for a, b in zip(lanes, alone, strict=True)),
    }


def main() -> None:
    """Print the figures."""
    from llvmlite.binding import get_host_cpu_features

    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    typed = parser.parse_args()
    known = get_host_cpu_features()
    figures: dict[str, Any] = {"features": [n for n in ("avx2", "avx512f") if known.get(n)]}
    figures |= {str(edges): measure(edges) for edges in EDGES}
    if typed.json:
        print(json.dumps(figures))
        return
    for name, value in figures.items():
        print(f"{name:10} {value}")


if __name__ == "__main__":
    main()
