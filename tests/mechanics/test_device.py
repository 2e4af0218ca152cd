"""What a device plays is what the processor plays.

The functions of the device run here as plain Python, once in numba's simulator of a device; on a
real one `tests/bench/device.py` holds its rows against the processor's.
"""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from edgewear import mechanics
from edgewear.engine.devices import cuda as ours
from edgewear.errors import UsageError
from edgewear.layout import Kind, Status
from edgewear.mechanics.device.field import LARGEST, NOWHERE, SPARE, add_both, deposit
from edgewear.mechanics.device.launch import can_play, given_of, many_of
from edgewear.mechanics.device.parts import Parts
from edgewear.mechanics.wear import field as lying
from support.lines import JERKY, direct, move
from support.plain_device import PlainDevice

TOLERANCE = 1e-9
"""Relative: what a device may differ by. Sums in another order leave some 1e-14."""

TAPES = {
    "climbs": [
        move(Kind.LOAD, depth_m=8.0),
        move(Kind.STROKES, length_m=1.5, **JERKY),
        move(Kind.UNLOAD),
        move(Kind.LOAD, depth_m=8.0, idle_ticks=700),
        move(Kind.STROKES, length_m=0.8, step=3, **JERKY),
    ],
    "descends and rests": [
        move(Kind.LOAD, depth_m=3.0),
        move(Kind.PAYOUT, length_m=1.2, speed_m_s=1.0, stop_s=0.2),
        move(Kind.HOLD, duration_ticks=9000),
        move(Kind.PAYOUT, length_m=0.5, speed_m_s=0.5, stop_s=0.2),
        move(Kind.STROKES, length_m=0.5, **JERKY),
    ],
    "works in place": [
        move(Kind.LOAD, depth_m=4.0),
        move(Kind.WORK, duration_ticks=60_000, bounce_hz=2.0, bounce_m=0.02, tool_n=50.0),
        move(Kind.STROKES, length_m=0.4, **JERKY),
    ],
}


def batch(tape: list[Any], seed: int, runs: int) -> tuple[Any, ...]:
    """Arguments of `play_many`: one line over one edge, all numbers of each run its own."""
    rng = np.random.default_rng(seed)
    base = direct([float(rng.uniform(2.0, 25.0))], [float(rng.uniform(5.0, 90.0))])
    lines, people, wears = (np.repeat(one, runs) for one in (base.line, base.person, base.wear))
    edges = np.repeat(base.edges[None], runs, 0)
    lines["stiffness_n"] = rng.uniform(30e3, 70e3, runs)
    lines["viscous_s"] = rng.uniform(0.02, 0.05, runs)
    people["mass_kg"] = rng.uniform(70.0, 120.0, runs)
    people["body_stiffness_n_m"] = rng.choice([10e3, math.inf], runs)
    people["amplitude_cv"], people["timing_cv"] = 0.2, 0.15
    people["skill"] = rng.choice([0.0, 1.0], runs)
    edges["friction"] = rng.uniform(0.05, 0.4, edges.shape)
    wears["law"] = rng.integers(0, 3, runs)
    wears["power_threshold_w_m2"] = 1e5
    wears["sheath_j_m"] = 10.0 ** rng.uniform(1.5, 4.5, runs)  # some wear through, some part
    wears["breaking_n"] = 10.0 ** rng.uniform(3.2, 4.3, runs)
    tapes = np.repeat(np.concatenate(tape)[None], runs, 0)
    return base, lines, edges, people, wears, tapes, rng.standard_normal((runs, 40, 2))


def in_plain_python(
    given: tuple[Any, ...], behind_m: float = 0.0, travel: int | None = None
) -> mechanics.Many:
    """The functions of a device, run by Python, one thread after the other in the same arrays.

    travel: strokes whose mark travel is kept; None: nothing of the edge is.
    """
    _, lines, edges, people, wears, tapes, variation = given
    numbers = given_of(lines, edges, people, wears, tapes, variation, behind_m=behind_m)
    return many_of(PlainDevice().play(numbers, len(lines), travel))


STATES = (
    "peak_n", "anchor_peak_n", "stretch_m", "core_tick", "core_ascended_m", "parted_tick",
    "parted_ascended_m", "climbing_ticks", "steps", "worn_tick", "worn_ascended_m",
)  # fmt: skip
MANY = (
    "largest_j_m", "worst_edge", "core_loss", "strength_n", "frequency_hz", "core_step",
    "parted_step", "ascended_m", "strokes", "ticks",
)  # fmt: skip


def apart(one: mechanics.Many, two: mechanics.Many) -> dict[str, float]:
    """Names of what differs by more than the tolerance, and by how much."""
    pairs = {name: (getattr(one, name), getattr(two, name)) for name in MANY}
    pairs |= {name: (one.state[name], two.state[name]) for name in STATES}
    pairs |= {name: (one.sums[name], two.sums[name]) for name in ("slip_m", "energy_j")}
    found = {}
    for name, (a, b) in pairs.items():
        if not np.allclose(a, b, rtol=TOLERANCE, atol=0.0, equal_nan=True):
            found[name] = float(np.nanmax(np.abs(a - b)))
    # a difference of sums of energy, in shares of their size
    if not np.allclose(one.residual, two.residual, rtol=0.0, atol=TOLERANCE):
        found["residual"] = float(np.nanmax(np.abs(one.residual - two.residual)))
    return found


PARTS_AT_WORK = 57
"""A seed of which a rope parts while the wear of a pattern of work is still kept apart."""


@pytest.mark.parametrize(
    ("name", "seed"), [*((name, 3) for name in TAPES), ("works in place", PARTS_AT_WORK)]
)
def test_a_device_plays_what_the_processor_plays(name: str, seed: int) -> None:
    given = batch(TAPES[name], seed=seed, runs=4 if seed == PARTS_AT_WORK else 2)
    base, lines, edges, people, wears, tapes, variation = given
    many = mechanics.play_many(base, lines, edges, people, wears, tapes.copy(), variation)
    mine = in_plain_python(given)
    assert (mine.end == Status.DONE).all()
    assert (many.end == Status.DONE).all()
    assert apart(mine, many) == {}


AT_THE_EDGE = (
    "slips", "sawing_m", "strokes", "strokes_stuck", "peak_n", "wrap_rad", "lateral_m",
    "lateral_j_m", "flash_n", "flash_speed_m_s", "flash_wrap_rad", "worn_tick", "worn_ascended_m",
)  # fmt: skip
SWAYS = move(
    Kind.WORK, duration_ticks=50_000, bounce_hz=2.0, bounce_m=0.02, sway_hz=0.5, sway_m=0.3
)
EDGE_TAPES = {
    **TAPES,
    "sways": [move(Kind.LOAD, depth_m=4.0), SWAYS, move(Kind.STROKES, length_m=0.4, **JERKY)],
    "hauls": [
        move(Kind.LOAD, depth_m=4.0),
        move(Kind.FEED, length_m=0.2, speed_m_s=0.5, stop_s=0.1, cycles=3),
        move(Kind.STROKES, length_m=0.4, **JERKY),
    ],
}


def at_the_edge_too(given: tuple[Any, ...], travel: int) -> tuple[mechanics.Many, mechanics.Many]:
    """What device and processor say of the same runs, the travel of a mark kept."""
    base, lines, edges, people, wears, tapes, variation = given
    room = mechanics.allocate(
        base.line, base.edges, base.person, base.wear, base.regimes, travel=travel
    )
    many = mechanics.play_many(room, lines, edges, people, wears, tapes.copy(), variation)
    return in_plain_python(given, travel=travel), many


def apart_at_the_edge(one: mechanics.Many, two: mechanics.Many) -> dict[str, float]:
    """As `apart`, of the edge: counts and moments to the bit, the travel of each stroke."""
    found = {}
    for name in AT_THE_EDGE:
        a, b = one.sums[name], two.sums[name]
        exact = a.dtype.kind == "i"
        if not np.allclose(a, b, rtol=0.0 if exact else TOLERANCE, atol=0.0):
            found[name] = float(np.abs(a - b).max())
    kept = np.minimum(two.state["travels"], two.travel.shape[2])
    if (one.state["travels"] != two.state["travels"]).any():
        found["travels"] = math.inf
    for run, few in enumerate(kept.tolist()):
        pair = one.travel[run, :, :few], two.travel[run, :, :few]
        # a travel is a difference of positions that are metres large
        if not np.allclose(*pair, rtol=TOLERANCE, atol=1e-12, equal_nan=True):
            found["travel"] = float(np.nanmax(np.abs(pair[0] - pair[1])))
    return found


@pytest.mark.parametrize("travel", [1, 200])
@pytest.mark.parametrize("name", EDGE_TAPES)
def test_a_device_tells_of_the_edge_what_the_processor_tells(name: str, travel: int) -> None:
    mine, many = at_the_edge_too(batch(EDGE_TAPES[name], seed=3, runs=2), travel)
    assert (mine.end == Status.DONE).all()
    assert many.state["travels"].min() > 1
    assert (many.sums["lateral_m"] > 0.0).any() == (name == "sways")
    assert apart_at_the_edge(mine, many) == {}
    assert apart(mine, many) == {}


@pytest.mark.long
@pytest.mark.parametrize("seed", range(40))
@pytest.mark.parametrize("name", EDGE_TAPES)
def test_a_device_tells_of_the_edge_what_the_processor_tells_in_many_runs(
    name: str, seed: int
) -> None:
    mine, many = at_the_edge_too(batch(EDGE_TAPES[name], seed=seed, runs=4), 200)
    kept = mine.end == Status.DONE
    assert kept.any(), "all were left to the processor"
    one, two = (each._replace(**{n: getattr(each, n)[kept] for n in each._fields})
                for each in (mine, many))  # fmt: skip
    assert apart_at_the_edge(one, two) == {}


def test_nothing_is_written_of_the_edge_where_nobody_asks() -> None:
    mine = in_plain_python(batch(TAPES["climbs"], seed=3, runs=1))
    assert mine.travel.shape == (1, 1, 0)
    assert not mine.sums["strokes"].any()


@pytest.mark.long
@pytest.mark.parametrize("seed", range(60))
@pytest.mark.parametrize("name", TAPES)
def test_a_device_plays_what_the_processor_plays_in_many_runs(name: str, seed: int) -> None:
    given = batch(TAPES[name], seed=seed, runs=4)
    base, lines, edges, people, wears, tapes, variation = given
    many = mechanics.play_many(base, lines, edges, people, wears, tapes.copy(), variation)
    mine = in_plain_python(given)
    kept = mine.end == Status.DONE
    assert kept.any(), "all were left to the processor"
    alike = many._replace(**{n: getattr(many, n)[kept] for n in many._fields})
    assert apart(mine._replace(**{n: getattr(mine, n)[kept] for n in mine._fields}), alike) == {}


@pytest.mark.parametrize("behind_m", [0.3, 0.4567, 0.70049])
def test_rope_let_out_behind_the_fixed_point_wears_the_same_cells(behind_m: float) -> None:
    feed = move(Kind.FEED, length_m=0.3, speed_m_s=0.5, stop_s=0.1)
    climb = TAPES["climbs"][1]
    given = batch([move(Kind.LOAD, depth_m=4.0), climb, feed, climb], seed=1, runs=2)
    base, lines, edges, people, wears, tapes, variation = given
    given[4]["breaking_n"] = 1e9  # it lasts to the end
    room = mechanics.allocate(
        base.line, base.edges, base.person, base.wear, base.regimes, behind_m=behind_m
    )
    many = mechanics.play_many(room, lines, edges, people, wears, tapes.copy(), variation)
    assert (many.end == Status.DONE).all()
    assert apart(in_plain_python(given, behind_m), many) == {}
    elsewhere = in_plain_python(given, 0.0)
    same_cells = abs(behind_m * 1e3 - round(behind_m * 1e3)) < 1e-6
    assert same_cells or apart(elsewhere, many) != {}


def test_a_run_that_wears_beyond_the_room_is_left_to_the_processor() -> None:
    feed = [move(Kind.LOAD, depth_m=4.0), move(Kind.FEED, length_m=1.5, speed_m_s=2.0, stop_s=0.1)]
    given = batch(feed, seed=1, runs=1)
    given[4]["breaking_n"] = given[4]["sheath_j_m"] = 1e9  # it lasts to the end
    assert (in_plain_python(given).end != Status.DONE).all()


@pytest.mark.parametrize("seed", range(5))
def test_cells_get_what_second_differences_come_to(seed: int) -> None:
    rng = np.random.default_rng(seed)
    cells = 200
    field, pending = np.zeros(2 * (cells + SPARE)), np.zeros(cells + 4)
    largest, plain = 0.0, Parts(lambda function: function, {}).of(lying.deposit)
    for _ in range(20):
        start, window = rng.uniform(60.0, 120.0), rng.uniform(1.0, 30.0)
        end = start + rng.choice([-1.0, 1.0]) * 10.0 ** rng.uniform(-4.0, 1.5)
        amount = rng.uniform(0.1, 5.0)
        assert deposit(field, start, end, window, amount) == plain(
            pending, start, end, window, amount
        )
        largest = max(largest, field[len(field) // 2 :].max())
    # two sums over 200 cells of numbers up to 1e5 times as large leave 1e-9 of them
    np.testing.assert_allclose(
        field[cells + SPARE : -SPARE], np.cumsum(np.cumsum(pending))[:cells], atol=1e-8
    )
    assert field[cells + SPARE - LARGEST] == largest


def test_a_deposit_loses_nothing() -> None:
    field = np.zeros(2 * (50 + SPARE))
    add_both(field, 50 + SPARE, 20.3, 24.9, 22.1, 7.7, 1.0, 2.0)
    assert field.sum() == pytest.approx(3.0, rel=1e-12)  # rounding of a dozen cells


def test_a_device_takes_one_edge_of_plain_friction() -> None:
    _, _, edges, *_ = batch(TAPES["climbs"], seed=0, runs=2)
    assert can_play(edges)
    for name, value in (("static_ratio", 1.2), ("power_exponent", 0.9)):
        other = edges.copy()
        other[name][1] = value
        assert not can_play(other)
    assert not can_play(np.concatenate([edges, edges], axis=1))


SIMULATED = """
import json, sys
from dataclasses import replace
import numpy as np
from edgewear.study.model import ScenarioModel
from edgewear.study.task import playing
model = ScenarioModel.of(sys.argv[1], 1, 2000, edges=sys.argv[2] == "edges")
rows = {"run": np.arange(2), "option": np.array(["bare"] * 2, object), "replicate": np.arange(2)}
told = {"apart": [], "words": [], "same": True, "rows": 0}
for one, two in zip(playing(replace(model, device="cuda"), rows), playing(model, rows)):
    names = [n for n in one.dtype.names if one[n].dtype.kind == "f" and n != "energy_residual"]
    words = [n for n in one.dtype.names if one[n].dtype.kind != "f"]
    far = [not np.allclose(one[n], two[n], 1e-9, 0.0, equal_nan=True) for n in names]
    told["apart"] += [n for n, off in zip(names, far) if off]
    told["words"] += [n for n in words if (one[n] != two[n]).any()]
    told["same"] &= bool((one == two).all())
    told["rows"] += len(one)
print(json.dumps(told))
"""


@pytest.mark.long
@pytest.mark.parametrize("kept", ["runs", "edges"])
def test_rows_of_a_simulated_device_are_those_of_the_processor(kept: str, tmp_path: Path) -> None:
    scenario = Path(__file__).parents[2] / "scenarios" / "reference-ascent.yaml"
    text = scenario.read_text("utf-8").replace("ascend: 5 m", "ascend: 1 m")
    (tmp_path / "short.yaml").write_text(text, "utf-8")
    done = subprocess.run(
        [sys.executable, "-c", SIMULATED, str(tmp_path / "short.yaml"), kept],
        env={**os.environ, "NUMBA_ENABLE_CUDASIM": "1"},
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert (told["apart"], told["words"]) == ([], [])
    assert told["rows"] == (4 if kept == "edges" else 2)
    assert not told["same"], "sums in another order: else the device was not asked"


def test_what_is_missing_for_a_device_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    assert ours.check_device("cpu") == 1
    with pytest.raises(UsageError, match="allowed are cpu and cuda"):
        ours.check_device("abacus")
    monkeypatch.setattr(ours, "find_spec", lambda name: None)
    with pytest.raises(UsageError, match=r"pip install 'edgewear\[cuda\]'"):
        ours.check_device("cuda")
    assert UsageError.exit_code == 2


def test_nothing_is_worn_at_the_start_of_a_run() -> None:
    *_, sums = given_of(*batch(TAPES["climbs"], seed=0, runs=1)[1:])
    assert (sums["pending_low"][0], sums["pending_high"][0]) == (NOWHERE, -1)


def test_no_call_of_ours_is_taken_to_fail() -> None:
    compiled = pytest.importorskip("edgewear.mechanics.device.compiled")
    text = """define i32 @"_ZN8edgewear1a"(i8** %".1") {
  %".2" = call i32 @"_ZN8edgewear1b"(i8** %".1")
  %".3" = call i32 @"_ZN5other1c"(i8** %".1")
  %".4" = icmp eq i32 %".2", 0
  %".20" = add i32 %".3", 1
  ret i32 %".2"
}
define i32 @"_ZN8edgewear1d"(i32 %".2") {
  ret i32 %".2"
}"""
    ours = '  %".2" = call i32 @"_ZN8edgewear1b"(i8** %".1")'
    body, other = compiled.all_well(text).split("\ndefine")
    assert ours in body
    assert 'icmp eq i32 0, 0\n  %".20" = add i32 %".3", 1\n  ret i32 0\n}' in body
    assert other == text.split("\ndefine")[1], "names are a function's own"
