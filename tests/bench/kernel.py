"""What a reference ascent costs: our kernels, the same in C, in plain Python, in solve_ivp.

`python tests/bench/kernel.py --json` prints one object. All times are processor time of one core
and medians; what a ratio compares is timed in the same run, in turns.

ascent_ms: `scenarios/reference-ascent.yaml` through the engine, from the load hung on to the last
stroke, the clearing of the buffers included. What follows is of the two kernel calls alone:
ns_per_step: of the same ascent; ns_per_step_by_edges: of other lines.
ratio_python_twin: plain Python over ours. ratio_c: ours over the same algorithm in C (gcc -O3),
with the same algebra and the same accounts (peaks, cycles, flash, the bound of the worst place),
that finds the same to 1e-9; null without gcc. ratio_c_euler: ours over semi-implicit Euler in C at
2 ms, at the errors given. ratio_solve_ivp: LSODA with a compiled right-hand side over ours, its
tolerance the loosest that reaches 0.1 % in the sliding path; ratio_solve_ivp_same_error: the
loosest that reaches our own error. Errors: relative, of the sliding path, against LSODA at 1e-11.
"""

from __future__ import annotations

import argparse
import json
import shutil
import statistics
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
from support.lines import JERKY, direct, move  # noqa: E402
from twins.ascent import Climb  # noqa: E402
from twins.plain_line import PlainLine  # noqa: E402
from twins.solver import ascend  # noqa: E402

REFERENCE = HERE.parents[1] / "scenarios" / "reference-ascent.yaml"
TURNS, ASCENTS = 15, 20
"""Programs take turns so often, making so many ascents each time."""
ACCURACY = 1e-3
EQUAL = 1e-9
EDGES = (1, 2, 4, 8, 12)


def reference() -> tuple[mechanics.Buffers, Any, Any]:
    """Buffers of the reference ascent with nothing that varies, its LOAD and its STROKES."""
    from edgewear.case import compile_case
    from edgewear.engine.player import Player
    from edgewear.engine.run_job import record_tape
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


def seconds_each(action: Any, times: int, before: Any = None) -> float:
    """Processor time of an action, mean over a few in a row [s]; `before` each is not counted."""
    spent = 0.0
    for _ in range(times):
        if before is not None:
            before()
        start = time.process_time()
        action()
        spent += time.process_time() - start
    return spent / times


def median_s(action: Any, turns: int, times: int, before: Any = None) -> float:
    """Processor time of an action, median over turns [s]."""
    return statistics.median(seconds_each(action, times, before) for _ in range(turns))


def through_the_engine_s() -> float:
    """Seconds of the shipped scenario's ascent, played as a run plays it."""
    from edgewear.case import compile_case
    from edgewear.engine.play import play as play_tape
    from edgewear.engine.player import Player
    from edgewear.engine.run_job import record_tape
    from edgewear.scenario import load_scenario

    scenario = load_scenario(REFERENCE)
    case = compile_case(scenario, "bare")
    batch = case.batch(record_tape(scenario, case), {}, 1)
    player = Player(case)
    play_tape(player, batch)
    return median_s(lambda: play_tape(player, batch), TURNS, ASCENTS)


def play(buffers: mechanics.Buffers, load: Any, strokes: Any) -> None:
    """The ascent, in buffers that are clear."""
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


def in_c(c: Climb, program: Path, method: int, times: int) -> tuple[list[float], float]:
    """Results and seconds of the C program; method 0: as ours, 1: Euler."""
    numbers = (
        c.stiffness_n, c.viscous_s, c.diameter_m, c.friction, c.radius_m, c.after_m, c.bend_rad,
        c.mass_kg, c.body_stiffness_n_m, c.force_ratio, c.depth_m, c.length_m, c.rise_m,
        c.sit_back_m, c.rise_s, c.drop_s, c.pause_s, c.gain, c.cold_share,
        1.0 / c.reference_speed_m_s, c.cell_m, c.left_m, c.sheath_j_m,
    )  # fmt: skip
    typed = "\n".join(repr(x) for x in numbers)
    done = subprocess.run(
        [program, str(method), str(times)], input=typed, capture_output=True, text=True, check=True
    )
    *results, seconds = map(float, done.stdout.split())
    return results, seconds


def c_figures(c: Climb, ours: list[float], our_time: Any, exact_m: float) -> dict[str, Any]:
    """Ratios to the C programs, and the Euler program's error.

    ours: what our ascent found; our_time: measures it.
    """
    names = ("ratio_c", "ratio_c_euler", "c_difference", "c_euler_error")
    if shutil.which("gcc") is None:
        return dict.fromkeys(names)
    ratios: tuple[list[float], list[float]] = ([], [])
    with tempfile.TemporaryDirectory() as folder:
        program = Path(folder) / "ascent"
        source = HERE / "ascent.c"
        subprocess.run(["gcc", "-O3", "-o", program, source, "-lm"], check=True)
        for _ in range(TURNS):
            ours_s = our_time()
            same, same_s = in_c(c, program, 0, ASCENTS)
            euler, euler_s = in_c(c, program, 1, ASCENTS)
            ratios[0].append(ours_s / same_s)
            ratios[1].append(ours_s / euler_s)
    difference = max(abs(a / b - 1.0) for a, b in zip(same, ours, strict=True))
    if difference > EQUAL:
        raise SystemExit(f"the C program differs by {difference:.1e}: {same} {ours}")
    error = abs(euler[0] / exact_m - 1.0)
    return dict(zip(names, (*map(statistics.median, ratios), difference, error), strict=True))


def solver_figures(c: Climb, slip_m: float, ours_s: float) -> tuple[dict[str, Any], float]:
    """Ratios to solve_ivp, evaluations, our error; and the exact path."""
    exact_m, _ = ascend(c, 1e-11)
    error = abs(slip_m / exact_m - 1.0)
    figures: dict[str, Any] = {"error": error}
    for name, wanted in (("", ACCURACY), ("_same_error", max(error, 1e-6))):
        for tolerance in (1e-2, 1e-3, 1e-4, 1e-5, 1e-6, 1e-7, 1e-8):
            found_m, evaluations = ascend(c, tolerance)
            if abs(found_m / exact_m - 1.0) <= wanted:
                break
        seconds = median_s(lambda rtol=tolerance: ascend(c, rtol), 3, 1)
        figures[f"ratio_solve_ivp{name}"] = seconds / ours_s
        figures[f"solve_ivp_rtol{name}"] = tolerance
        figures[f"solve_ivp_evaluations{name}"] = evaluations
    return figures, exact_m


def twin_ratio(buffers: mechanics.Buffers, load: Any, strokes: Any, our_time: Any) -> float:
    """Plain Python over ours, in turns; both find the same."""
    ratios = []
    for _ in range(5):
        ours_s = our_time()
        twin = PlainLine(buffers.line[0], buffers.edges, buffers.person[0], buffers.wear[0])
        twin.make(load[0])
        ratios.append(seconds_each(lambda made=twin: made.make(strokes[0]), 1) / ours_s)
        difference = abs(twin.edges[0].energy_j / float(buffers.sums["energy_j"][0]) - 1.0)
        if difference > EQUAL:
            raise SystemExit(f"the plain twin differs by {difference:.1e}")
    return statistics.median(ratios)


def step_costs() -> dict[str, float]:
    """Nanoseconds a step for lines over several edges, jerky."""
    costs = {}
    load = move(Kind.LOAD, depth_m=10.0)
    strokes = move(Kind.STROKES, length_m=5.0, **JERKY)
    for count in EDGES:
        buffers = direct([20.0 / count] * count, [60.0 / count] * count)
        seconds = median_s(
            lambda lines=buffers: play(lines, load, strokes),
            9,
            3,
            lambda lines=buffers: mechanics.clear(lines),
        )
        costs[str(count)] = 1e9 * seconds / int(buffers.state["steps"][0])
    return costs


def measure() -> dict[str, Any]:
    """All figures."""
    buffers, load, strokes = reference()

    def our_time() -> float:
        return seconds_each(
            lambda: play(buffers, load, strokes), ASCENTS, lambda: mechanics.clear(buffers)
        )

    ours_s = statistics.median(our_time() for _ in range(TURNS))
    state, sums = buffers.state[0], buffers.sums[0]
    steps = int(state["steps"])
    c = as_climb(buffers, load, strokes)
    found = (sums["slip_m"], sums["energy_j"], sums["exposure_j"], state["peak_n"])
    found += (state["depth_m"], mechanics.worst(buffers)[0], steps, state["tick"])
    found += tuple(state[name] for name in ("anchor_peak_n", "stretch_m"))
    found += tuple(sums[name] for name in ("sawing_m", "flash_measure"))
    found += tuple(state[name] for name in ("drawn_m", "flows_j"))
    found += (sums["slips"], sums["bare_ticks"], state["core_tick"])
    solver, exact_m = solver_figures(c, float(sums["slip_m"]), ours_s)
    figures: dict[str, Any] = {
        "ascent_ms": 1e3 * through_the_engine_s(),
        "ratio_python_twin": twin_ratio(buffers, load, strokes, our_time),
    }
    figures |= c_figures(c, [float(x) for x in found], our_time, exact_m)
    figures |= solver | {"evaluations": 4 * steps, "steps": steps}
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
