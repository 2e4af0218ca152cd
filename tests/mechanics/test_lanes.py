"""Runs over one edge side by side come to the bits of one after the other."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from edgewear import mechanics
from edgewear.layout import Kind
from edgewear.mechanics import many as together
from edgewear.mechanics.lanes import play, step
from edgewear.mechanics.lanes.rows import LANES, ROWS, SIZE
from support.lines import direct, move, random_movement

RUNS = 3 * LANES + 5
"""Of a batch: every lane takes several, and some run dry before others."""


def batch(seed: int, runs: int = RUNS) -> tuple[Any, ...]:
    """Arguments of `play_many`: climbs over one edge, gentle to violent, all numbers of their own.

    Some people can hardly lift more than they weigh, some ropes part, some edges do not hold at
    all; between the climbs anything may happen.
    """
    rng = np.random.default_rng([20_261_129, seed])
    base = direct([float(rng.uniform(0.5, 40.0))], [float(rng.uniform(0.5, 170.0))], behind_m=1.0)
    tape = [move(Kind.LOAD, depth_m=float(rng.uniform(1.0, 25.0)))]
    for _ in range(int(rng.integers(1, 4))):
        tape.append(climb(rng))
        if rng.random() < 0.5:
            tape.append(random_movement(rng))
    lines, people, wears = (np.repeat(one, runs) for one in (base.line, base.person, base.wear))
    edges = np.repeat(base.edges[None], runs, 0)
    lines["stiffness_n"] = rng.uniform(20e3, 90e3, runs)
    lines["viscous_s"] = rng.choice([0.0, 0.005, 0.03, 0.1], runs)
    lines["device_slip_n"] = rng.choice([math.inf, 2e3], runs)
    people["mass_kg"] = rng.uniform(50.0, 200.0, runs)
    people["body_stiffness_n_m"] = rng.choice([3e3, 10e3, math.inf], runs)
    people["force_ratio"] = rng.choice([1.02, 1.2, 1.5, 2.5], runs)
    people["amplitude_cv"], people["timing_cv"] = rng.uniform(0.0, 0.4, (2, runs))
    people["skill"] = rng.choice([0.0, 0.0, 0.7], runs)
    edges["friction"] = rng.choice([0.0, 0.1, 0.3, 0.8], edges.shape)
    edges["radius_m"] = 10.0 ** rng.uniform(-3.5, -1.0, edges.shape)
    wears["sheath_j_m"] = 10.0 ** rng.uniform(1.5, 5.0, runs)
    wears["breaking_n"] = 10.0 ** rng.uniform(3.2, 4.3, runs)
    tapes = np.repeat(np.concatenate(tape)[None], runs, 0)
    return base, lines, edges, people, wears, tapes, rng.standard_normal((runs, 80, 2))


def climb(rng: np.random.Generator) -> np.ndarray:
    """Strokes of any kind, for a metre or so."""
    return move(
        Kind.STROKES, length_m=float(rng.uniform(0.2, 2.0)), rise_m=float(rng.uniform(0.15, 0.5)),
        sit_back_m=float(rng.choice([0.0, 0.02, 0.1])), rise_s=float(rng.uniform(0.2, 1.2)),
        drop_s=float(rng.uniform(0.05, 0.4)), pause_s=float(rng.choice([0.0, 0.1, 0.6])),
        idle_ticks=int(rng.integers(0, 5000)), step=1,
    )  # fmt: skip


def both(given: tuple[Any, ...], monkeypatch: pytest.MonkeyPatch) -> tuple[Any, Any]:
    """The same runs side by side, and one after the other."""
    base, *numbers, tapes, variation = given
    beside = mechanics.play_many(base, *numbers, tapes.copy(), variation)
    with monkeypatch.context() as patched:
        patched.setattr(together, "LEAST_RUNS", math.inf)
        in_turn = mechanics.play_many(base, *numbers, tapes.copy(), variation)
    return beside, in_turn


def differing(beside: Any, in_turn: Any) -> list[str]:
    """Which figures differ in any bit."""
    pairs = zip(beside._fields, beside, in_turn, strict=True)
    return [name for name, one, other in pairs if one.tobytes() != other.tobytes()]


@pytest.mark.parametrize("seed", range(6))
def test_side_by_side_comes_to_the_bits_of_one_after_the_other(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert differing(*both(batch(seed), monkeypatch)) == []


@pytest.mark.long
def test_ten_thousand_runs_side_by_side_come_to_the_bits_of_one_after_the_other(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    seeds = range(6, 6 + -(-10_000 // RUNS))
    found = [differing(*both(batch(seed), monkeypatch)) for seed in seeds]
    assert [one for one in found if one] == []


def test_lanes_take_the_steps_of_climbs(monkeypatch: pytest.MonkeyPatch) -> None:
    """Not one after the other by way of `_proceed`: each lane keeps what it has stepped itself."""
    kept = []
    made = play._lanes
    monkeypatch.setattr(play, "_lanes", lambda b: kept.append(made(b)) or kept[-1])
    given = batch(0)
    given[3]["skill"], given[1]["device_slip_n"] = 0.0, math.inf
    mechanics.play_many(*given[:5], given[5].copy(), given[6])
    steps = kept[0].f[step.r.STEPS : step.r.STEPS + LANES]
    assert (steps > 10).all()


def test_no_row_of_the_lanes_lies_on_another() -> None:
    r, ramps = step.r, ("DEPOSITS", "RAMPS")
    names = [name for name in vars(r) if name.isupper() and name[0] != "_"]
    names = [name for name in names if name not in ("LANES", "SIZE", "ROWS", "LATER", "RAMP")]
    halves = [half + LANES * k for half in (0, r.LATER) for k in range(1 + 4 * r.RAMP // LANES)]
    places = [getattr(r, name) for name in names if name not in ramps]
    places = sorted([*places, *(r.DEPOSITS + place for place in halves)])
    assert (r.RAMPS, r.RAMP) == (r.DEPOSITS + LANES, 4 * LANES)
    assert places == list(range(0, SIZE, LANES))
    assert len(places) == ROWS
