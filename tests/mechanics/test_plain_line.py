"""The kernels against plain Python over several bends, with every movement it covers."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from edgewear import mechanics
from edgewear.layout import Kind
from support.lines import TECHNIQUES, direct, move
from twins.plain_line import PlainLine
from twins.plain_rope import FLOWS

ROUNDING = 1e-9
"""Relative. Both do the same arithmetic in another order: each of some 1e3 to 1e4 steps rounds to
1e-16, and re-tension, located to 1e-13 s out of 1e-2 s, passes on 1e-11 at most."""
LIMP = 1e-2
"""Relative, where for an instant there is no tension anywhere: then rates beyond those that just
unload the rope meet every condition too, and which of them is found is open."""
NOTHING = 1e-11
"""Absolute, for what is zero but for rounding: metres, joules, newtons alike."""
SMALL_J = 1e-7
"""Mixing is a difference of products of the order of 1 kW that nearly cancel, and small [J]."""
NO_VARIATION = np.zeros((0, 2))
REFERENCE = Path(__file__).parents[2] / "scenarios" / "reference-ascent.yaml"


def beside(buffers, tape, variation=NO_VARIATION) -> PlainLine:
    """Play a tape with the kernels and with the twin, and hold one against the other."""
    twin = PlainLine(buffers.line[0], buffers.edges, buffers.person[0], buffers.wear[0])
    for movement in tape:
        assert mechanics.advance(buffers, movement, variation) & 1
        twin.make(np.atleast_1d(movement)[0], variation)
    state = buffers.state[0]
    near = LIMP if twin.limp else ROUNDING
    if not twin.limp:
        assert twin.tick == state["tick"]
        assert list(buffers.sums["slips"]) == [edge.slips for edge in twin.edges]
        assert twin.steps >= state["steps"]  # a line at rest is not stepped by the kernel
    for name in ("slip_m", "energy_j", "exposure_j", "peak_n", "sawing_m"):
        expected = [getattr(edge, name) for edge in twin.edges]
        assert buffers.sums[name] == pytest.approx(expected, rel=near, abs=NOTHING), name
    for name in ("depth_m", "speed_m_s", "peak_n", "anchor_peak_n", "ascended_m"):
        assert state[name] == pytest.approx(getattr(twin, name), rel=near, abs=NOTHING), name
    for name, expected in zip(FLOWS, twin.flows_j, strict=True):
        assert state[name] == pytest.approx(expected, rel=near, abs=SMALL_J), name
    largest, _, _ = mechanics.worst(buffers)
    assert largest == pytest.approx(twin.largest_exposure_j_m(), rel=near, abs=NOTHING)
    return twin


def random_line(seed: int):
    """A line of one to five given bends, a tape on it, and stroke variation."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(1, 6))
    buffers = direct(
        list(rng.uniform(0.5, 50.0 / count, count)),
        list(rng.uniform(1.0, 170.0 / count, count)),
        list(rng.uniform(0.05, 0.4, count)),
        stiffness_n=float(rng.uniform(25e3, 80e3)),
        viscous_s=float(rng.uniform(0.004, 0.06)),
        mass_kg=float(rng.uniform(70.0, 130.0)),
        body_stiffness_n_m=float(rng.choice([5e3, 10e3, 15e3, math.inf])),
        radius_m=rng.uniform(0.001, 0.02, count),
        severity=rng.uniform(0.1, 3.0, count),
        thickness_m=rng.choice([0.0, 0.004, 0.007], count),
        own_radius_m=rng.choice([0.0, 0.03], count),
        spares=rng.choice([0.0, 1.0, 10.0, math.inf], count),
        amplitude_cv=float(rng.choice([0.0, 0.2])),
        timing_cv=float(rng.choice([0.0, 0.15])),
        law=seed % 3,
        power_threshold_w_m2=2e5,
        skill=(0.0, 0.4, 1.0)[seed // 3 % 3],
        fatigue_per_stroke=(0.0, 0.3)[seed % 2],
    )
    climb = move(Kind.STROKES, length_m=1.2, **TECHNIQUES[int(rng.integers(3))])
    lower = move(Kind.PAYOUT, length_m=float(rng.uniform(0.3, 2.0)), speed_m_s=0.8, stop_s=0.2)
    saw = move(
        Kind.FEED,
        length_m=float(rng.uniform(-0.3, 0.3)),
        speed_m_s=0.3,
        stop_s=0.2,
        cycles=int(rng.integers(0, 3)),
    )
    moves = [climb, lower, saw, move(Kind.HOLD, duration_ticks=int(rng.integers(1_000, 9_000)))]
    tape = [move(Kind.LOAD, depth_m=float(rng.uniform(4.0, 15.0)))]
    tape += [moves[int(k)] for k in rng.permutation(4)]
    return buffers, tape, rng.standard_normal((40, 2))


@pytest.mark.parametrize("seed", range(8))
def test_random_lines_agree(seed: int) -> None:
    twin = beside(*random_line(seed))
    assert not twin.limp
    assert sum(edge.slip_m for edge in twin.edges) > 0.0


@pytest.mark.long
@pytest.mark.parametrize("seed", range(100, 300))
def test_many_random_lines_agree(seed: int) -> None:
    beside(*random_line(seed))


def test_slack_rope_agrees() -> None:
    """Sitting back deep and fast on a short stiff rope throws it slack again and again."""
    buffers = direct([1.0, 0.5], [20.0, 30.0], stiffness_n=80e3, viscous_s=0.01)
    stroke = {"rise_m": 0.4, "sit_back_m": 0.3, "rise_s": 0.4, "drop_s": 0.1, "pause_s": 0.3}
    tape = [move(Kind.LOAD, depth_m=6.0), move(Kind.STROKES, length_m=1.6, **stroke)]
    beside(buffers, tape)
    assert buffers.state["substeps"][0] > 0


def test_reference_ascent_agrees() -> None:
    """The shipped reference ascent, exactly as a run plays it."""
    from edgewear.case import compile_case
    from edgewear.engine.player import Player, steady
    from edgewear.engine.run_job import record_tape
    from edgewear.scenario import load_scenario

    scenario = load_scenario(REFERENCE)
    case = compile_case(scenario, "bare")
    tape = record_tape(scenario, case)
    player = Player(case)
    player.begin(case.batch(tape, {}, 1), 0)
    twin = beside(player.buffers(0), [tape[i : i + 1] for i in range(tape.size)], steady(0, 0))
    assert twin.ascended_m == pytest.approx(5.0)
