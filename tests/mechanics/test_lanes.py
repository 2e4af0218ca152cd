"""Runs side by side come to the bits of one after the other."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from edgewear import mechanics
from edgewear.layout import Kind
from edgewear.mechanics import many as together
from edgewear.mechanics.lanes import play, rows
from edgewear.mechanics.lanes.rows import EACH, EDGES, LANES, NEXT, ROWS, SIZE
from support.lines import direct, move, random_movement, surveyed

RUNS = 3 * LANES + 5
"""Of a batch: every lane takes several, and some run dry before others."""
FEWER = 2 * LANES + 5
"""Of those that are played each time."""


def laid(rng: np.random.Generator, count: int) -> Any:
    """A line in space over edges askew, so that lengths and bends follow from the depth.

    The upper edges are touched from the start, others once the load hangs low enough or never.
    """
    out = np.cumsum(rng.uniform(0.05, 0.6, count)) - 0.3
    up = -np.cumsum(rng.uniform(0.3, 1.5, count))
    points = list(zip(out.tolist(), up.tolist(), strict=True))
    anchor = (-float(rng.uniform(1.0, 20.0)), float(rng.uniform(-0.2, 0.5)))
    base = surveyed(anchor, points, float(out[-1] + rng.uniform(-0.2, 0.2)), behind_m=1.0)
    askew = rng.uniform(-0.3, 0.3, count)
    for place, name in ((-1.0, "start_m"), (1.0, "end_m")):
        base.edges[name][:, 0] += place * askew
        base.edges[name][:, 1] = place
    return base


def batch(seed: int, count: int = 1, runs: int = RUNS, in_space: bool = False) -> tuple[Any, ...]:
    """Arguments of `play_many`: climbs over edges, gentle to violent, all numbers of their own.

    Some people can hardly lift more than they weigh, some ropes part, some edges do not hold at
    all; between the climbs anything may happen.
    """
    rng = np.random.default_rng([20_261_129, seed])
    spans, bends = rng.uniform(0.5, 40.0, count), rng.uniform(0.5, 170.0, count)
    base = laid(rng, count) if in_space else direct(spans.tolist(), bends.tolist(), behind_m=1.0)
    tape = [move(Kind.LOAD, depth_m=float(rng.uniform(1.0, 25.0)))]
    for _ in range(int(rng.integers(1, 4))):
        tape.append(climb(rng))
        if rng.random() < 0.5:
            tape.append(random_movement(rng))
        if count > 1 and rng.random() < 0.7:
            tape.append(lowered(rng))
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


def lowered(rng: np.random.Generator) -> np.ndarray:
    """Work in place, descents and rests, which lanes take over several edges."""
    kind = rng.choice([Kind.WORK, Kind.PAYOUT, Kind.HOLD])
    if kind == Kind.PAYOUT:
        return move(kind, length_m=float(rng.uniform(0.3, 4.0)), speed_m_s=0.5, stop_s=0.4, step=1)
    sway, bounce = float(rng.choice([0.0, 0.1, 0.4])), float(rng.choice([0.0, 0.02]))
    values = {"sway_m": sway, "sway_hz": 0.2, "bounce_m": bounce, "bounce_hz": 0.5 * (bounce > 0)}
    work = values if kind == Kind.WORK else {}
    return move(kind, duration_ticks=int(rng.integers(10_000, 200_000)), step=1, **work)


def differing(beside: Any, in_turn: Any) -> list[str]:
    """Which figures differ in any bit."""
    pairs = zip(beside._fields, beside, in_turn, strict=True)
    return [name for name, one, other in pairs if one.tobytes() != other.tobytes()]


@pytest.mark.parametrize("count", [1, 2, 3, 6])
@pytest.mark.parametrize("seed", [*range(6), 66])  # 66: no friction, weight met to the last bit
def test_side_by_side_comes_to_the_bits_of_one_after_the_other(
    seed: int, count: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert differing(*both(batch(seed, count, FEWER), monkeypatch)) == []


@pytest.mark.parametrize("count", [1, 2, 4])
@pytest.mark.parametrize("seed", range(6))
def test_lines_laid_in_space_come_to_the_bits_of_one_after_the_other(
    seed: int, count: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert differing(*both(batch(seed, count, FEWER, in_space=True), monkeypatch)) == []


@pytest.mark.parametrize("count", [1, 2, 3])
@pytest.mark.parametrize("depth_m", [0.05, 0.2, 0.4])
@pytest.mark.parametrize("runs", [3, RUNS])  # in turn, and side by side
def test_a_load_that_cannot_hang_leaves_nothing_of_what_was_played_before(
    count: int, depth_m: float, runs: int
) -> None:
    """The same runs the other way round, of which some hang and others would take no rope."""
    base, lines, edges, people, wears, _, variation = batch(3, count, runs)
    people["body_stiffness_n_m"] = np.resize([math.inf, 1500.0, 3e3], runs)
    lines["viscous_s"] = 0.03
    tape = np.concatenate([move(Kind.LOAD, depth_m=depth_m), move(Kind.HOLD, duration_ticks=5000)])
    tapes = np.repeat(tape[None], runs, 0)
    there = mechanics.play_many(base, lines, edges, people, wears, tapes.copy(), variation)
    turned = [one[::-1].copy() for one in (lines, edges, people, wears, tapes, variation)]
    back = mechanics.play_many(base, *turned)
    assert len(set(there.end.tolist())) == 2
    assert there.state.tobytes() == back.state[::-1].tobytes()


@pytest.mark.long
def test_ten_thousand_runs_side_by_side_come_to_the_bits_of_one_after_the_other(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    seeds = range(6, 6 + -(-10_000 // RUNS))
    cases = [batch(seed, 1 + seed % 6, in_space=seed % 4 == 0) for seed in seeds]
    found = [differing(*both(case, monkeypatch)) for case in cases]
    assert [one for one in found if one] == []


def test_lanes_take_the_steps_of_climbs(monkeypatch: pytest.MonkeyPatch) -> None:
    """Not one after the other by way of `_proceed`: each lane keeps what it has stepped itself."""
    kept = []
    made = play._lanes
    monkeypatch.setattr(play, "_lanes", lambda *b: kept.append(made(*b)) or kept[-1])
    given = batch(0)
    given[3]["skill"], given[1]["device_slip_n"] = 0.0, math.inf
    mechanics.play_many(*given[:5], given[5].copy(), given[6])
    steps = kept[0].f[rows.STEPS : rows.STEPS + LANES]
    assert (steps > 10).all()


ALONE = {
    "strokes": move(Kind.STROKES, length_m=1.0, rise_m=0.3, sit_back_m=0.05, rise_s=0.6,
                    drop_s=0.3, pause_s=0.3),
    "work": move(Kind.WORK, duration_ticks=60_000, sway_m=0.1, sway_hz=0.25),
    "a descent": move(Kind.PAYOUT, length_m=1.0, speed_m_s=0.5, stop_s=0.4),
    "a rest": move(Kind.HOLD, duration_ticks=60_000),
}  # fmt: skip
"""What lanes take over several edges, one movement each."""


@pytest.mark.parametrize("what", ALONE)
@pytest.mark.parametrize(("count", "in_space"), [(2, False), (6, False), (1, True), (3, True)])
def test_lanes_over_several_edges_make_these_steps_themselves(
    what: str, count: int, in_space: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A flow past the anchor end that the lanes' rows alone have shows in what every run comes to.

    Runs of which each step were left to the general way would come to the same bits all the same.
    """
    given = batch(2, count, in_space=in_space)
    _, lines, edges, people, *_ = given
    lines["device_slip_n"], people["body_stiffness_n_m"], edges["friction"] = math.inf, 1e4, 0.2
    lines["viscous_s"], people["mass_kg"], people["force_ratio"] = 0.03, 90.0, 1.5
    tape = np.concatenate([move(Kind.LOAD, depth_m=12.0), ALONE[what]])
    given = (*given[:5], np.repeat(tape[None], RUNS, 0), given[6])
    assert differing(*both(given, monkeypatch)) == []
    empty = play._rows

    def flowing() -> np.ndarray:
        f = empty()
        for row in (rows.Q_1, rows.Q_3, rows.Q_4):
            f[row - NEXT : row] = 1e-6
        return f

    monkeypatch.setattr(play, "_rows", flowing)
    beside, in_turn = both(given, monkeypatch)
    assert all(one != other for one, other in zip(beside.state, in_turn.state, strict=True))


def test_no_row_of_the_lanes_lies_on_another() -> None:
    """Each name has its rows: one, or one a free length, an edge, or an edge and both ends."""
    twice = ("DEPOSITS", "SHUT_AT", "SHUT_CELLS", "SHUT_J", "RAMPS")
    told = ("LANES", "EDGES", "NEXT", "EACH", "RAMP", "LATER", "SIZE", "ROWS", *twice)
    ends = ("Q_1", "Q_3", "Q_4", "LAST_Q", "DQ")
    names = [name for name in vars(rows) if name.isupper() and name[0] != "_" and name not in told]
    first = sorted(getattr(rows, name) - NEXT * (name in ends) for name in names)
    halves = [half + EACH * k for half in (0, rows.LATER) for k in range(4 + 2 * rows.RAMP // EACH)]
    first += [rows.DEPOSITS + place for place in halves]
    many = [(b - a) // NEXT for a, b in pairwise([*first, SIZE])]
    assert [getattr(rows, name) - rows.DEPOSITS for name in twice] == [EACH * k for k in range(5)]
    assert rows.RAMP == 4 * EACH
    assert set(many) == {1, EDGES, EDGES + 1, EDGES + 2}
    assert many.count(EDGES + 2) == len(ends)
    assert sum(many) == ROWS
    assert all(a % LANES == 0 for a in first)
