"""Runs in one call come to the same bits as each played alone, whatever ran before them."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from edgewear import mechanics
from edgewear.layout import Kind, Status
from support.lines import direct, move, random_movement, surveyed

RUNS = 11
"""Of a batch; each finds the buffers as the one before left them."""


def batch(seed: int) -> tuple[Any, ...]:
    """Arguments of `play_many`: a random line and tape, all numbers of each run its own."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(1, 7)) if rng.random() < 0.5 else 1
    if rng.random() < 0.8:
        behind = list(rng.uniform(0.5, 40.0 / count, count))
        base = direct(behind, list(rng.uniform(1.0, 90.0 / count, count)), behind_m=1.0)
        depth = float(rng.uniform(8.0, 20.0))
    else:
        down = np.cumsum(rng.uniform(0.5, 4.0, count))
        points = [(0.2 * (j + 1.0), -float(down[j])) for j in range(count)]
        base = surveyed((-4.0, 0.5), points, 0.2 * count + 0.3, behind_m=1.0)
        depth = float(rng.uniform(down[-1] + 2.0, down[-1] + 12.0))
    tape = [move(Kind.LOAD, depth_m=depth)]
    tape += [random_movement(rng) for _ in range(int(rng.integers(2, 5)))]
    lines, people, wears = (np.repeat(one, RUNS) for one in (base.line, base.person, base.wear))
    edges = np.repeat(base.edges[None], RUNS, 0)
    lines["stiffness_n"] = rng.uniform(25e3, 80e3, RUNS)
    lines["viscous_s"] = rng.uniform(0.015, 0.06, RUNS)
    people["mass_kg"] = rng.uniform(70.0, 130.0, RUNS)
    people["body_stiffness_n_m"] = rng.choice([5e3, 10e3, math.inf], RUNS)
    people["amplitude_cv"], people["timing_cv"] = 0.2, 0.15
    people["skill"] = rng.choice([0.0, 0.5, 1.0], RUNS)
    people["fatigue_per_stroke"] = 0.02
    edges["friction"] = rng.uniform(0.05, 0.4, edges.shape)
    edges["static_ratio"] = rng.choice([1.0, 1.0, 1.0, 1.15], (RUNS, 1))
    wears["law"] = rng.integers(0, 3, RUNS)
    wears["power_threshold_w_m2"] = 1e5
    wears["sheath_j_m"] = 10.0 ** rng.uniform(2.5, 5.0, RUNS)  # some wear through, some part
    wears["breaking_n"] = 10.0 ** rng.uniform(3.3, 4.3, RUNS)
    tapes = np.repeat(np.concatenate(tape)[None], RUNS, 0)
    return base, lines, edges, people, wears, tapes, rng.standard_normal((RUNS, 60, 2))


def alone(run: int, given: tuple[Any, ...]) -> mechanics.Buffers:
    """One run of a batch, played by itself, movement by movement."""
    _, lines, edges, people, wears, tapes, variation = given
    line, person, wear = (records[run : run + 1] for records in (lines, people, wears))
    regimes = mechanics.route(line, edges[run])
    buffers = mechanics.allocate(line, edges[run], person, wear, regimes, behind_m=1.0)
    state = buffers.state
    tick, ascended_m, strokes = 0, 0.0, 0
    for at in range(tapes.shape[1]):
        movement = tapes[run, at : at + 1].copy()
        state["tick"], state["ascended_m"] = tick, ascended_m
        movement["first_stroke"] = strokes
        status = mechanics.advance(buffers, movement, variation[run], armed=int(Status.PARTED))
        if status & (Status.FAILED | Status.DRAWS | Status.PARTED):
            break
        if movement["kind"][0] == Kind.STROKES:
            ascended_m = float(state["ascended_m"][0])
            strokes += int(state["stroke"][0])
        tick = int(state["tick"][0])
    return buffers


def differing(seed: int) -> list[tuple[int, int]]:
    """(seed, run) of those that differ in any bit of the state, the sums or the worst place."""
    given = batch(seed)
    base, lines, edges, people, wears, tapes, variation = given
    many = mechanics.play_many(base, lines, edges, people, wears, tapes.copy(), variation)
    found = []
    for run in range(RUNS):
        own = alone(run, given)
        same = own.state.tobytes() == many.state[run].tobytes()
        same = same and own.sums.tobytes() == many.sums[run].tobytes()
        if not (same and mechanics.worst(own)[0] == many.largest_j_m[run]):
            found.append((seed, run))
    return found


@pytest.mark.parametrize("first", [0, 10])
def test_a_batch_comes_to_the_bits_of_each_run_alone(first: int) -> None:
    assert [one for seed in range(first, first + 10) for one in differing(seed)] == []


@pytest.mark.long
def test_ten_thousand_runs_in_batches_come_to_the_bits_of_each_alone() -> None:
    assert [one for seed in range(100, 100 + -(-10_000 // RUNS)) for one in differing(seed)] == []


def test_what_runs_before_a_run_changes_nothing_in_it() -> None:
    base, *numbers, variation = batch(3)
    whole = mechanics.play_many(base, *(one.copy() for one in numbers), variation)
    back = slice(None, None, -1)
    turned = mechanics.play_many(
        base, *(np.ascontiguousarray(one[back]) for one in numbers), variation[back].copy()
    )
    assert turned.state[back].tobytes() == whole.state.tobytes()
    assert turned.sums[back].tobytes() == whole.sums.tobytes()
