"""The rope that a load was hung on slowly, against the friction law integrated round each bend."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from edgewear import mechanics
from edgewear.layout import Kind, Status
from support.lines import direct, move, surveyed

G = 9.81


def held(tension_n: float, grip: float, exponent: float, radius_m: float, bend_rad: float) -> float:
    """What is left of a tension after a bend that the rope slides over.

    A metre of rope presses with N = T/r and friction takes a*N^n off it: dT/dphi = -r*a*(T/r)^n.
    """

    def taken(_: float, tension: Any) -> Any:
        return -radius_m * grip * (np.maximum(tension, 0.0) / radius_m) ** exponent

    path = solve_ivp(taken, (0.0, bend_rad), [tension_n], rtol=1e-11, atol=1e-9)
    return max(float(path.y[0, -1]), 0.0)


def agrees(buffers: mechanics.Buffers, free_m: Any, bends_rad: Any, last_n: float) -> None:
    """Tensions, rope in the spans and slip at each bend are those of a slow load."""
    edges, line = buffers.edges, buffers.line[0]
    tensions = [last_n]
    for edge, bend in zip(edges[::-1], np.asarray(bends_rad)[::-1], strict=True):
        law = (edge["friction"], edge["power_exponent"], edge["radius_m"])
        tensions.insert(0, held(tensions[0], *law, bend))
    strain = np.array(tensions) / line["stiffness_n"]
    rope = np.asarray(free_m) / (1.0 + strain)
    body_m = last_n / buffers.person["body_stiffness_n_m"][0]
    rope[-1] = (free_m[-1] - body_m) / (1.0 + strain[-1])
    state, count = buffers.state[0], len(edges)
    # both are exact: what is left is the tolerance of the integration round the bend
    assert state["tension_n"][: count + 1] == pytest.approx(tensions, rel=1e-8, abs=1e-6)
    assert state["span_m"][: count + 1] == pytest.approx(rope, rel=1e-10)
    passed = np.cumsum(np.asarray(free_m)[:-1] - rope[:-1])
    assert buffers.sums["load_slip_m"] == pytest.approx(passed, rel=1e-7, abs=1e-9)


def given_bends(seed: int) -> None:
    """One to three bends; Coulomb friction or a power of the pressure."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(1, 4))
    exponent = np.where(rng.random(count) < 0.4, 1.0, rng.uniform(0.6, 0.98, count))
    radius_m = rng.uniform(0.5e-3, 20e-3, count)
    # the same hold at 700 N as Coulomb friction of 0.05 to 0.6
    friction = rng.uniform(0.05, 0.6, count) * (700.0 / radius_m) ** (1.0 - exponent)
    after_m, bends = rng.uniform(0.5, 20.0, count), rng.uniform(1.0, 170.0, count)
    mass_kg, depth_m = float(rng.uniform(60.0, 200.0)), float(rng.uniform(2.0, 30.0))
    buffers = direct(
        list(after_m), list(bends), list(friction),
        power_exponent=exponent, radius_m=radius_m, mass_kg=mass_kg,
        stiffness_n=float(rng.uniform(25e3, 60e3)),
        static_ratio=float(rng.choice([1.0, 1.2])),
        body_stiffness_n_m=float(rng.choice([5e3, 15e3, math.inf])),
    )  # fmt: skip
    assert mechanics.advance(buffers, move(Kind.LOAD, depth_m=depth_m)) & Status.DONE
    agrees(buffers, [*after_m, depth_m], np.radians(bends), mass_kg * G)


def by_coordinates(seed: int) -> None:
    """One edge in the survey, the load below and out from it: the rope leaves it at a slant.

    The person is kept on the vertical track; what carries them is the upright share of the pull.
    """
    rng = np.random.default_rng(seed)
    anchor = np.array([-rng.uniform(0.5, 15.0), rng.uniform(-0.3, 0.3)])
    edge, out_m = np.zeros(2), float(rng.uniform(0.05, 1.5))
    mass_kg, depth_m = float(rng.uniform(60.0, 200.0)), float(rng.uniform(2.0, 15.0))
    exponent = float(rng.choice([1.0, 0.85]))
    hold = float(rng.uniform(0.05, 0.6)) * (700.0 / 1e-3) ** (1.0 - exponent)
    buffers = surveyed(
        (float(anchor[0]), float(anchor[1])), [(0.0, 0.0)], out_m,
        friction=hold, power_exponent=exponent, radius_m=1e-3, mass_kg=mass_kg,
    )  # fmt: skip
    assert mechanics.advance(buffers, move(Kind.LOAD, depth_m=depth_m)) & Status.DONE
    to_edge, to_load = edge - anchor, np.array([out_m, -depth_m]) - edge
    free_m = [float(np.linalg.norm(to_edge)), float(np.linalg.norm(to_load))]
    bend = math.acos(float(to_edge @ to_load) / (free_m[0] * free_m[1]))
    last_n = mass_kg * G * free_m[1] / depth_m
    agrees(buffers, free_m, [bend], last_n)


@pytest.mark.parametrize("seed", range(12))
def test_given_bends_hold_what_the_friction_law_takes(seed: int) -> None:
    given_bends(seed)


@pytest.mark.parametrize("seed", range(8))
def test_a_slanting_rope_holds_what_the_friction_law_takes(seed: int) -> None:
    by_coordinates(seed)


@pytest.mark.long
@pytest.mark.parametrize("seed", range(100, 160))
def test_60_slow_loads(seed: int) -> None:
    given_bends(seed)
    by_coordinates(seed)
