"""Lines, people and movements for tests of the kernels: plain values, overridden by name."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from edgewear import mechanics
from edgewear.layout import EDGE, LINE, MOVEMENT, PERSON, WEAR, Kind

JERKY = {"rise_m": 0.40, "sit_back_m": 0.10, "rise_s": 0.40, "drop_s": 0.15, "pause_s": 0.25}
NORMAL = {"rise_m": 0.35, "sit_back_m": 0.05, "rise_s": 0.80, "drop_s": 0.30, "pause_s": 0.50}
SMOOTH = {"rise_m": 0.30, "sit_back_m": 0.02, "rise_s": 1.20, "drop_s": 0.50, "pause_s": 0.60}
TECHNIQUES = (JERKY, NORMAL, SMOOTH)

LINE_VALUES = {
    "stiffness_n": 46e3,
    "viscous_s": 0.03,
    "diameter_m": 0.011,
    "rope_kg_m": 0.075,
    "device_slip_n": math.inf,
    "rope_m": 90.0,
}
EDGE_VALUES = {
    "friction": 0.2,
    "static_ratio": 1.0,
    "power_exponent": 1.0,
    "radius_m": 0.001,
    "severity": 1.0,
    "wet_factor": 1.0,
}
PERSON_VALUES = {"mass_kg": 90.0, "body_stiffness_n_m": 10e3, "force_ratio": 1.5}
WEAR_VALUES = {
    "sheath_j_m": 20e3,
    "core_j_m": 60e3,
    "core_exponent": 1.0,
    "reference_pressure_pa": 1e8,
    "reference_speed_m_s": 0.5,
    "cold_share": 0.05,
    "width_share": 0.5,
    "arc_share": 0.2,
    "presliding_m": 0.001,
    "breaking_n": 20e3,
    "core_strength_share": 0.7,
}


def _filled(dtype: np.dtype[Any], count: int, values: dict[str, Any]) -> Any:
    """Records with the given fields."""
    records = np.zeros(count, dtype)
    for name, value in values.items():
        records[name] = value
    return records


def direct(
    setbacks_m: list[float],
    bends_deg: list[float],
    friction: float | list[float] = 0.2,
    **values: Any,
) -> mechanics.Buffers:
    """Buffers of a line whose free lengths and bends are given; values by field name."""
    count = len(setbacks_m)
    edge = {
        "friction": friction,
        "after_m": setbacks_m,
        "bend_rad": np.radians(bends_deg),
    }
    return _buffers({"direct": 1, "edge_count": count}, edge, count, values)


def surveyed(
    anchor: tuple[float, float],
    points: list[tuple[float, float]],
    load_out_m: float,
    **values: Any,
) -> mechanics.Buffers:
    """Buffers of a line by coordinates (out, up) of anchor and edges; the load hangs plumb."""
    at = np.array([(x, 0.0, z) for x, z in points]).reshape(len(points), 3)
    line = {
        "edge_count": len(points),
        "anchor_m": (anchor[0], 0.0, anchor[1]),
        "load_out_m": load_out_m,
    }
    return _buffers(line, {"start_m": at, "end_m": at}, len(points), values)


def _buffers(
    line: dict[str, Any], edge: dict[str, Any], count: int, values: dict[str, Any]
) -> mechanics.Buffers:
    """Records from defaults and values, and their buffers."""
    made = []
    left = dict(values)
    for dtype, number, basis in (
        (LINE, 1, LINE_VALUES | line),
        (EDGE, count, EDGE_VALUES | edge),
        (PERSON, 1, PERSON_VALUES),
        (WEAR, 1, WEAR_VALUES),
    ):
        own = {name: left.pop(name) for name in list(left) if name in (dtype.names or ())}
        made.append(_filled(dtype, number, basis | own))
    lines, edges, person, wear = made
    return mechanics.allocate(lines, edges, person, wear, mechanics.route(lines, edges), **left)


def move(kind: Kind | int, **values: Any) -> Any:
    """One MOVEMENT record."""
    return _filled(MOVEMENT, 1, {"kind": int(kind)} | values)


def climbed(buffers: mechanics.Buffers, depth_m: float, length_m: float, **stroke: Any) -> int:
    """Hang on at a depth and climb; returns the last status."""
    mechanics.advance(buffers, move(Kind.LOAD, depth_m=depth_m))
    return mechanics.advance(buffers, move(Kind.STROKES, length_m=length_m, **stroke))


def random_case(seed: int, **fixed: Any) -> tuple[mechanics.Buffers, list[Any], Any]:
    """A random line of one to four edges with a random tape on it, and stroke variation.

    fixed: what is not random, as for `direct`.
    """
    rng = np.random.default_rng(seed)
    count = int(rng.integers(1, 5))
    values: dict[str, Any] = {
        "stiffness_n": float(rng.uniform(25e3, 80e3)),
        "viscous_s": float(rng.uniform(0.015, 0.06)),
        "mass_kg": float(rng.uniform(70.0, 130.0)),
        "body_stiffness_n_m": float(rng.choice([5e3, 10e3, 15e3, math.inf])),
        "static_ratio": float(rng.choice([1.0, 1.0, 1.15])),
        "radius_m": rng.uniform(0.001, 0.02, count),
        "amplitude_cv": float(rng.choice([0.0, 0.2])),
        "timing_cv": float(rng.choice([0.0, 0.15])),
        "skill": float(rng.choice([0.0, 0.5, 1.0])),
        "fatigue_per_stroke": 0.02,
        "travel": 100,
        "trace": 200,
    } | fixed
    friction = rng.uniform(0.05, 0.4, count)
    if rng.random() < 0.5:
        bends = rng.uniform(1.0, 100.0 / count, count)
        buffers = direct(
            list(rng.uniform(0.5, 60.0 / count, count)), list(bends), friction, **values
        )
        depth = float(rng.uniform(10.0, 20.0))
    else:
        down = np.cumsum(rng.uniform(0.5, 4.0, count))
        points = [(0.2 * (j + 1.0), -float(down[j])) for j in range(count)]
        anchor = (-float(rng.uniform(1.0, 20.0)), float(rng.uniform(0.0, 2.0)) - 0.5)
        buffers = surveyed(anchor, points, 0.2 * count + 0.3, friction=friction, **values)
        depth = float(rng.uniform(down[0], down[-1] + 12.0))
    tape = [move(Kind.LOAD, depth_m=depth)]
    for _ in range(int(rng.integers(3, 7))):
        tape.append(random_movement(rng))
    return buffers, tape, rng.standard_normal((400, 2))


def random_movement(rng: np.random.Generator) -> Any:
    """Any movement that can follow when a person hangs on the line."""
    kind = rng.choice([Kind.HOLD, Kind.STROKES, Kind.STROKES, Kind.PAYOUT, Kind.WORK, Kind.FEED])
    if kind == Kind.STROKES:
        technique = TECHNIQUES[int(rng.integers(3))]
        return move(kind, length_m=float(rng.uniform(0.5, 3.0)), **technique)
    if kind == Kind.PAYOUT:
        speed = float(rng.uniform(0.3, 1.0))
        return move(kind, length_m=float(rng.uniform(0.3, 4.0)), speed_m_s=speed, stop_s=0.4)
    if kind == Kind.FEED:
        cycles = int(rng.integers(0, 3))
        length = float(rng.uniform(-0.5, 0.5))
        return move(kind, length_m=length, speed_m_s=0.2, stop_s=0.3, cycles=cycles)
    ticks = int(rng.integers(5_000, 300_000))
    if kind == Kind.WORK:
        sway = float(rng.choice([0.0, 0.1]))
        return move(
            kind, duration_ticks=ticks, bounce_m=0.02, bounce_hz=float(rng.uniform(0.3, 1.0)),
            sway_m=sway, sway_hz=0.2 if sway else 0.0, tool_n=100.0,
        )  # fmt: skip
    return move(kind, duration_ticks=ticks)


def random_catch(seed: int) -> tuple[mechanics.Buffers, Any]:
    """A random line of up to three edges at rest, and a fall of up to 6 m into it.

    Any damping from none on, a device that slips at 2.5 kN or more or never, one person or two.
    """
    rng = np.random.default_rng(seed)
    count = int(rng.integers(0, 4))
    behind = rng.uniform(0.3, 30.0 / max(count, 1), count)
    below = float(rng.uniform(0.5, 15.0))
    fall = float(min(rng.uniform(0.05, 1.0) * (behind.sum() + below), 6.0, below))
    buffers = direct(
        list(behind),
        list(rng.uniform(5.0, 120.0, count)),
        list(rng.uniform(0.05, 0.4, count)),
        viscous_s=float(rng.choice([0.0, 0.005, 0.015, 0.03, 0.045, 0.06])),
        device_slip_n=float(rng.choice([math.inf, 2.5e3, 4e3, 6e3])),
        stiffness_n=float(rng.uniform(25e3, 60e3)),
        mass_kg=float(rng.uniform(75.0, 200.0)),
        body_stiffness_n_m=float(rng.choice([math.inf, 10e3])),
        static_ratio=float(rng.choice([1.0, 1.0, 1.15])),
    )
    return buffers, move(Kind.DROP, depth_m=below - fall, length_m=fall, duration_ticks=40_000)
