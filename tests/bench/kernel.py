"""What a reference ascent costs: our kernels, the same in C, in plain Python, in solve_ivp.

`python tests/bench/kernel.py --json` prints one object. All times are processor time of one core,
the best of several rounds, in the same run.

ascent_ms: `scenarios/reference-ascent.yaml` from the load hung on to the last stroke.
ns_per_step, by number of edges: cost of a step. ratio_python_twin: plain Python over ours.
ratio_c: ours over the same algorithm in C (gcc -O3, results equal to 1e-9); null without gcc.
ratio_c_euler: ours over semi-implicit Euler in C at 2 ms. ratio_solve_ivp: LSODA with a compiled
right-hand side over ours, its tolerance the loosest that reaches our own error in the sliding path.
errors: relative, of the sliding path, against LSODA at 1e-11.
"""

from __future__ import annotations

import argparse
import json
import math
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

import numpy as np

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent))

from edgewear import mechanics  # noqa: E402
from edgewear.layout import Kind  # noqa: E402
from twins.ascent import Climb, climb  # noqa: E402
from twins.lines import JERKY, direct, move  # noqa: E402
from twins.solver import ascend  # noqa: E402

REFERENCE = HERE.parents[1] / "scenarios" / "reference-ascent.yaml"
ROUNDS = 200
EQUAL = 1e-9
EDGES = (1, 2, 4, 8, 12)


def reference() -> tuple[mechanics.Buffers, Any, Any]:
    """Buffers of the reference ascent with nothing that varies, its LOAD and its STROKES."""
    from edgewear.case import compile_case
    from edgewear.engine.perform import record_tape
    from edgewear.engine.player import Player
    from edgewear.scenario import load_scenario

    scenario = load_scenario(REFERENCE)
    case = compile_case(scenario, "bare")
    tape = record_tape(scenario, case)
    player = Player(case)
    player.begin(case.batch(tape, {}, 1), 0)
    buffers = player.buffers(0)
    buffers.person["amplitude_cv"] = 0.0
    buffers.person["timing_cv"] = 0.0
    made = {int(m["kind"][0]): m for m in (tape[i : i + 1] for i in range(tape.size))}
    return buffers, made[Kind.LOAD], made[Kind.STROKES]


def timed(action: Any, rounds: int) -> float:
    """Least processor time of an action [s]."""
    best = math.inf
    for _ in range(rounds):
        start = time.process_time()
        action()
        best = min(best, time.process_time() - start)
    return best


def play(buffers: mechanics.Buffers, load: Any, strokes: Any) -> None:
    """The ascent afresh."""
    mechanics.clear(buffers)
    mechanics.advance(buffers, load)
    mechanics.advance(buffers, strokes)


def as_climb(buffers: mechanics.Buffers, load: Any, strokes: Any) -> Climb:
    """The same for the twin."""
    line, edge, person, wear = (
        records[0] for records in (buffers.line, buffers.edges, buffers.person, buffers.wear)
    )
    arc_m = max(edge["radius_m"], wear["arc_share"] * line["diameter_m"])
    area = wear["width_share"] * line["diameter_m"] * arc_m * wear["reference_pressure_pa"]
    records = (strokes[0], line, edge, person, wear)
    values = {
        name: float(record[name])
        for record in records
        for name in record.dtype.names
        if name in Climb._fields
    }
    cell_m, left_m, _ = buffers.cells
    return Climb(
        **values
        | {
            "depth_m": float(load["depth_m"][0]),
            "gain": float(edge["severity"] * edge["wet_factor"] / area),
            "cell_m": float(cell_m),
            "left_m": float(left_m),
            "cells": buffers.exposure.shape[1],
        }
    )


def in_c(c: Climb, method: int, folder: Path) -> tuple[list[float], float]:
    """Results and seconds of the C program; method 0: as ours, 1: Euler."""
    program = folder / "ascent"
    if not program.exists():
        source = HERE / "ascent.c"
        subprocess.run(["gcc", "-O3", "-o", program, source, "-lm"], check=True)
    numbers = (
        c.stiffness_n, c.viscous_s, c.diameter_m, c.friction, c.radius_m, c.after_m, c.bend_rad,
        c.mass_kg, c.body_stiffness_n_m, c.force_ratio, c.depth_m, c.length_m, c.rise_m,
        c.sit_back_m, c.rise_s, c.drop_s, c.pause_s, c.gain, c.cold_share,
        1.0 / c.reference_speed_m_s, c.cell_m, c.left_m,
    )  # fmt: skip
    typed = "\n".join(repr(x) for x in numbers)
    done = subprocess.run(
        [program, str(method), str(ROUNDS)], input=typed, capture_output=True, text=True, check=True
    )
    *results, seconds = map(float, done.stdout.split())
    return results, seconds


def c_figures(c: Climb, ours: list[float], ours_s: float, exact_m: float) -> dict[str, Any]:
    """Ratios to the C programs, and the Euler program's error."""
    names = ("ratio_c", "ratio_c_euler", "c_difference", "c_euler_error")
    if shutil.which("gcc") is None:
        return dict.fromkeys(names)
    with tempfile.TemporaryDirectory() as folder:
        same, same_s = in_c(c, 0, Path(folder))
        euler, euler_s = in_c(c, 1, Path(folder))
    difference = max(abs(a / b - 1.0) for a, b in zip(same[: len(ours)], ours, strict=True))
    if difference > EQUAL:
        raise SystemExit(f"the C program differs by {difference:.1e}: {same} {ours}")
    error = abs(euler[0] / exact_m - 1.0)
    return dict(zip(names, (ours_s / same_s, ours_s / euler_s, difference, error), strict=True))


def solver_figures(c: Climb, slip_m: float, ours_s: float) -> tuple[dict[str, Any], float]:
    """Ratio to solve_ivp at matched accuracy, evaluations, our error; and the exact path."""
    exact_m, _ = ascend(c, 1e-11)
    error = abs(slip_m / exact_m - 1.0)
    for tolerance in (1e-3, 1e-4, 1e-5, 1e-6, 1e-7, 1e-8):
        found_m, evaluations = ascend(c, tolerance)
        if abs(found_m / exact_m - 1.0) <= max(error, 1e-5):
            break
    seconds = timed(lambda: ascend(c, tolerance), 3)
    figures = {
        "ratio_solve_ivp": seconds / ours_s,
        "solve_ivp_rtol": tolerance,
        "solve_ivp_evaluations": evaluations,
        "error": error,
    }
    return figures, exact_m


def step_costs() -> dict[str, float]:
    """Nanoseconds a step for lines over several edges, jerky."""
    costs = {}
    load = move(Kind.LOAD, depth_m=10.0)
    strokes = move(Kind.STROKES, length_m=5.0, **JERKY)
    for count in EDGES:
        buffers = direct([20.0 / count] * count, [60.0 / count] * count)
        seconds = timed(lambda lines=buffers: play(lines, load, strokes), 20)
        costs[str(count)] = 1e9 * seconds / int(buffers.state["steps"][0])
    return costs


def measure() -> dict[str, Any]:
    """All figures."""
    buffers, load, strokes = reference()
    play(buffers, load, strokes)
    ours_s = timed(lambda: play(buffers, load, strokes), ROUNDS)
    state, sums = buffers.state[0], buffers.sums[0]
    steps = int(state["steps"])
    c = as_climb(buffers, load, strokes)
    ours = [sums["slip_m"], sums["energy_j"], sums["exposure_j"], state["peak_n"], state["depth_m"]]
    solver, exact_m = solver_figures(c, float(sums["slip_m"]), ours_s)
    figures: dict[str, Any] = {"ascent_ms": 1e3 * ours_s, "evaluations": 4 * steps, "steps": steps}
    figures["ratio_python_twin"] = timed(lambda: climb(c), 1) / ours_s
    figures |= c_figures(c, [float(x) for x in ours], ours_s, exact_m)
    figures |= solver
    figures["ns_per_step"] = 1e9 * ours_s / steps
    figures["ns_per_step_by_edges"] = step_costs()
    return figures


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    typed = parser.parse_args()
    figures = measure()
    if typed.json:
        print(json.dumps(figures))
        return
    for name, value in figures.items():
        print(f"{name:24} {value}")


if __name__ == "__main__":
    np.seterr(all="raise", under="ignore")
    main()
