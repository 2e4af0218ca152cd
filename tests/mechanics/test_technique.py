"""A climber's skill and fatigue: what they are by definition, and what they do."""

from __future__ import annotations

import math

import numpy as np
import pytest

from edgewear import mechanics
from edgewear.layout import Kind, Status
from edgewear.mechanics import scratch as r
from edgewear.terms import GRAVITY_M_S2
from support.lines import JERKY, SMOOTH, direct, move

PAUSES_S = np.arange(0.1, 3.0, 0.1)
"""Strokes of 1.8 to 4.6 s beside a bounce of 1.6 s: at some of them the strokes drive it."""


def climbs(skill: float) -> np.ndarray:
    """Peak, largest exposure, sliding path and energy of smooth climbs, one a pause."""
    found = []
    for pause_s in PAUSES_S:
        buffers = direct([20.0], [20.0], 0.1, viscous_s=0.015, skill=skill)
        mechanics.advance(buffers, move(Kind.LOAD, depth_m=8.0))
        climb = move(Kind.STROKES, length_m=6.0, **(SMOOTH | {"pause_s": float(pause_s)}))
        assert mechanics.advance(buffers, climb) == Status.DONE
        sums = buffers.sums[0]
        found.append([
            buffers.state["peak_n"][0], mechanics.worst(buffers)[0], sums["slip_m"],
            sums["energy_j"],
        ])  # fmt: skip
    return np.array(found)


def test_who_times_strokes_to_the_bounce_meets_no_resonance() -> None:
    fixed, timed = climbs(0.0), climbs(1.0)
    assert (timed.max(axis=0) < fixed.max(axis=0)).all()
    # whichever pause they mean to make, the push comes at the same place of the bounce: what the
    # pause decides is hardly more than whether they wait for this bounce or the next
    scatter = np.ptp(timed, axis=0) / np.ptp(fixed, axis=0)
    assert (scatter < 1.0).all()
    assert timed[:, 3].max() < 0.8 * fixed[:, 3].max()  # a fifth of the energy at the least


def foreseen_m_s(buffers: mechanics.Buffers, rise_s: float) -> float:
    """Speed in the middle of a rise begun now: of an undamped bounce about the weight."""
    state, line = buffers.state[0], buffers.line[0]
    rope_m = float(state["span_m"][: state["count"] + 1].sum())
    give_m_n = rope_m / float(line["stiffness_n"]) + 1.0 / float(
        buffers.person["body_stiffness_n_m"][0]
    )
    omega = 1.0 / math.sqrt(give_m_n * float(state["mass_kg"]))
    away_m = (
        float(state["tension_n"][state["count"]]) / float(state["mass_kg"]) - GRAVITY_M_S2
    ) / (omega**2)  # below the place of rest
    phase = 0.5 * omega * rise_s
    return float(state["speed_m_s"]) * math.cos(phase) - away_m * omega * math.sin(phase)


def test_waiting_ends_where_the_next_push_will_meet_the_upper_turning_point() -> None:
    buffers = direct([6.0], [40.0], 0.15, skill=1.0, viscous_s=0.015)
    mechanics.advance(buffers, move(Kind.LOAD, depth_m=10.0))
    climb = move(Kind.STROKES, length_m=6.0, **JERKY)
    tick, status = int(buffers.state["tick"][0]), Status.UNTIL
    before, waited, found = 0.0, False, []
    while status == Status.UNTIL:
        tick += 1
        status = Status(mechanics.advance(buffers, climb, until_tick=tick))
        if buffers.state["phase"][0] == r.WAIT:
            before, waited = foreseen_m_s(buffers, JERKY["rise_s"]), True
        elif waited and buffers.state["phase"][0] == r.RISE:
            found.append((before, foreseen_m_s(buffers, JERKY["rise_s"])))
            waited = False
    assert len(found) > 5
    for step_before, at_the_push in found:
        # upwards is negative: in the last step it turns, at the first tick at which it has; a tick
        # changes it by at most 1 mm/s, at 10 m/s2
        assert step_before < 0.0 <= at_the_push + 1e-9
        assert at_the_push < 1e-3


def test_nobody_waits_longer_than_their_skill_allows() -> None:
    def duration_s(skill: float) -> float:
        buffers = direct([6.0], [40.0], 0.15, skill=skill, viscous_s=0.015)
        mechanics.advance(buffers, move(Kind.LOAD, depth_m=10.0))
        mechanics.advance(buffers, move(Kind.STROKES, length_m=6.0, **SMOOTH))
        return float(buffers.state["tick"][0]) * 1e-4

    strokes = 20
    bounce_s = 2.0 * math.pi * math.sqrt(90.0 * (16.0 / 46e3 + 1e-4))
    unskilled = duration_s(0.0)
    for skill in (0.1, 0.5, 1.0):
        # legs that yield make a rise last longer or shorter by less than a tenth of a second
        assert duration_s(skill) <= unskilled + strokes * (skill * bounce_s + 0.1)
    assert duration_s(1.0) > unskilled


def test_a_tired_climber_makes_the_strokes_of_a_jerky_one() -> None:
    """Fatigue 1 is jerky whatever was meant; halfway, strokes lie halfway."""

    def climbed(stroke: dict[str, float], **fatigue: float) -> mechanics.Buffers:
        buffers = direct([10.0], [30.0], fatigue_per_stroke=fatigue.pop("each", 0.0))
        mechanics.advance(buffers, move(Kind.LOAD, depth_m=8.0))
        mechanics.advance(buffers, move(Kind.STROKES, length_m=3.0, **stroke, **fatigue))
        return buffers

    jerky, tired = climbed(JERKY), climbed(SMOOTH, fatigue=1.0)
    for name in ("slip_m", "energy_j", "peak_n"):
        assert tired.sums[name] == pytest.approx(jerky.sums[name], rel=1e-9)
    middle = {name: 0.5 * (SMOOTH[name] + JERKY[name]) for name in SMOOTH}
    halfway = climbed(SMOOTH, fatigue=0.5)
    assert halfway.sums["energy_j"] == pytest.approx(climbed(middle).sums["energy_j"], rel=1e-9)
    # a tenth more with each stroke: beyond what a fresh climber does, short of a jerky one
    fresh, tiring = climbed(SMOOTH), climbed(SMOOTH, each=0.1)
    assert fresh.sums["energy_j"] < tiring.sums["energy_j"] < jerky.sums["energy_j"]
