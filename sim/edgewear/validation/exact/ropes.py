"""Closed forms of a rope that saws over a bend, and what must not change a result."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from math import exp, pi, radians, sqrt

import numpy as np

from edgewear import bench
from edgewear.engine.bench_line import BenchLine, Bend
from edgewear.layout import Kind
from edgewear.terms import GRAVITY_M_S2
from edgewear.validation.exact.row import Row, off, share

MASS_KG = 100.0
STIFFNESS_N = 45e3
SLOW_HZ = 0.005
"""A cycle so slow that the weight's inertia adds less than 1e-4 to its force."""

FORM = "closed form (derived)"


@dataclass(frozen=True)
class Sawing:
    """What one slow cycle of tension does at one bend."""

    slip_m: float
    energy_j: float
    amplitude_m: float  # of a mark, unstretched
    worst_j_m: float  # largest friction energy per metre of rope


def exact(full: bool) -> Iterator[Row]:
    """Work the closed forms."""
    yield from _slow_cycles((2.0, 6.0, 20.0, 60.0) if full else (2.0, 20.0))
    yield from _threshold()
    yield from _bends_multiply()
    yield _machine()
    yield from _nothing_changes()


def _machine() -> Row:
    """A slow machine slips by its travel less the stretch between both ends of the stick band."""
    made = bench.reciprocate(120.0, 0.5, 0.02, 3, [Bend(0.2, 0.5, 5.0)])
    strain = 120.0 * GRAVITY_M_S2 / bench.STIFFNESS_N
    taken_up = 5.0 * strain * (exp(0.1) - exp(-0.1))
    path = 3 * 2 * (0.5 - taken_up) * (1.0 + strain)
    name = "reciprocating machine: sliding path at small strain"
    return share(name, FORM, made.slip_m[0], path, strain)


def slow_cycle(bend: Bend, tool_n: float, cycles: int = 3) -> Sawing:
    """Let a weight's pull vary slowly, and read one cycle after the first have settled.

    Parameters:
        bend: with its setback.
        tool_n: amplitude of the force added to the weight [N].
    """
    before, after = _swung(bend, tool_n, cycles - 1), _swung(bend, tool_n, cycles)
    return Sawing(
        slip_m=_of(after, "slip_m") - _of(before, "slip_m"),
        energy_j=_of(after, "energy_j") - _of(before, "energy_j"),
        amplitude_m=_of(after, "sawing_m"),
        worst_j_m=after.worst_j_m() - before.worst_j_m(),
    )


def _of(stand: BenchLine, field: str) -> float:
    return float(stand.buffers.sums[field][0])


def _swung(bend: Bend, tool_n: float, cycles: int) -> BenchLine:
    stand = BenchLine(STIFFNESS_N, 1e-3, MASS_KG, [bend], cell_m=2e-4)
    stand.make(Kind.LOAD, depth_m=5.0)
    ticks = round(cycles / SLOW_HZ * 1e4)
    stand.make(Kind.WORK, duration_ticks=ticks, bounce_hz=SLOW_HZ, tool_n=tool_n)
    return stand


def _slow_cycles(setbacks_m: tuple[float, ...]) -> Iterator[Row]:
    low, high = MASS_KG * GRAVITY_M_S2 - 600.0, MASS_KG * GRAVITY_M_S2 + 600.0
    ratio = exp(0.2 * radians(30.0))
    for setback_m in setbacks_m:
        bend = Bend(0.2, radians(30.0), setback_m, radius_m=1e-3)
        found = slow_cycle(bend, 600.0)
        name = f"setback {setback_m:g} m"
        amplitude = sawing_m(setback_m, ratio, low, high)
        yield share(f"sawing amplitude, {name}", FORM, found.amplitude_m, amplitude, 1e-3)
        energy = loop_j(setback_m, ratio, low, high)
        yield share(f"hysteresis loop, {name}", FORM, found.energy_j, energy, 1e-3)
        if amplitude > 0.011:  # the contact must be shorter than the travel
            worst = worst_j_m(setback_m, ratio, high, 0.011)
            yield share(f"energy at the worst place, {name}", FORM, found.worst_j_m, worst, 5e-3)


def sawing_m(setback_m: float, ratio: float, low_n: float, high_n: float) -> float:
    """Travel of a mark: l/(1 + R*Tmin/K) - l/(1 + Tmax/(R*K)) [m]."""
    return setback_m / (1.0 + ratio * low_n / STIFFNESS_N) - setback_m / (
        1.0 + high_n / (ratio * STIFFNESS_N)
    )


def loop_j(setback_m: float, ratio: float, low_n: float, high_n: float) -> float:
    """Friction energy of a slow cycle at finite strain, both ways integrated [J]."""
    k = STIFFNESS_N

    def down(t: float) -> float:
        stretch = 1.0 + t / (k * ratio)
        power = t * (1.0 - 1.0 / ratio) * (1.0 + t * (1.0 + 1.0 / ratio) / (2.0 * k))
        return setback_m / (k * ratio) / stretch**2 * power

    def back(t: float) -> float:
        stretch = 1.0 + t * ratio / k
        power = t * (ratio - 1.0) * (1.0 + t * (1.0 + ratio) / (2.0 * k))
        return setback_m * ratio / k / stretch**2 * power

    return _integral(down, ratio**2 * low_n, high_n) + _integral(back, low_n, high_n / ratio**2)


def worst_j_m(setback_m: float, ratio: float, high_n: float, contact_m: float) -> float:
    """Energy per metre at the worst place: the mean over one contact length of both ways [J/m]."""
    k = STIFFNESS_N
    first = setback_m / (1.0 + high_n / (ratio * k))

    def both(s: float) -> float:
        a = k * (setback_m / s - 1.0)
        down = a * (ratio - 1.0) * (1.0 + a * (1.0 + ratio) / (2.0 * k))
        back = a * (1.0 - 1.0 / ratio) * (1.0 + a * (1.0 + 1.0 / ratio) / (2.0 * k))
        return down + back

    return _integral(both, first, first + contact_m) / contact_m


def _integral(function: Callable[[float], float], low: float, high: float) -> float:
    """Gauss-Legendre with twenty points."""
    at, weight = np.polynomial.legendre.leggauss(20)
    half, middle = 0.5 * (high - low), 0.5 * (high + low)
    values = [w * function(middle + half * x) for x, w in zip(at, weight, strict=True)]
    return float(half * sum(values))


def _threshold() -> Iterator[Row]:
    """A cyclic load slips every cycle if and only if Tmax/Tmin > R^2."""
    bend = Bend(0.2, radians(60.0), 20.0)
    square = exp(2.0 * bend.friction * bend.wrap_rad)
    mean = MASS_KG * GRAVITY_M_S2
    for sign, wanted in ((-1.0, False), (1.0, True)):
        wide = square * (1.0 + sign * 0.01)
        tool_n = mean * (wide - 1.0) / (wide + 1.0)
        slips = slow_cycle(bend, tool_n).slip_m > 1e-9
        side = "above" if wanted else "below"
        yield off(f"slip threshold, 1 % {side} R^2 [1]", FORM, float(slips), float(wanted), 0.0)


def _bends_multiply() -> Iterator[Row]:
    for count in (1, 2, 5):
        bends = [Bend(0.15 + 0.05 * j, 0.3 + 0.1 * j) for j in range(count)]
        stand = BenchLine(STIFFNESS_N, 0.03, MASS_KG, bends)
        stand.make(Kind.LOAD, depth_m=3.0)
        held = stand.tensions_n()[0]
        product = exp(sum(b.friction * b.wrap_rad for b in bends))
        expected = MASS_KG * GRAVITY_M_S2 / product
        yield share(f"slow load over {count} bends: factors multiply", FORM, held, expected, 1e-9)


def _strokes(
    bends: list[Bend], stiffness_n: float = STIFFNESS_N, mass_kg: float = 90.0
) -> BenchLine:
    """Climb 3 m in jerky strokes on a body spring."""
    stand = BenchLine(stiffness_n, 0.03, mass_kg, bends, body_stiffness_n_m=stiffness_n / 4.5)
    stand.make(Kind.LOAD, depth_m=8.0)
    stroke = {"rise_m": 0.4, "sit_back_m": 0.1, "rise_s": 0.4, "drop_s": 0.15, "pause_s": 0.25}
    stand.make(Kind.STROKES, length_m=3.0, **stroke)
    return stand


def _nothing_changes() -> Iterator[Row]:
    """Invariances, and energy kept."""
    plain = _strokes([Bend(0.2, 0.5, 20.0)])
    residual = plain.residual()
    yield Row("energy balance of a jerky climb", "every term integrated", residual, 3e-5)
    smooth = _strokes([Bend(0.0, 0.5, 20.0)])
    lost = _of(smooth, "energy_j")
    yield off("a frictionless bend dissipates nothing [J]", FORM, lost, 0.0, 1e-9)
    straight, none = _strokes([Bend(0.2, 0.0, 20.0)]), _strokes([Bend(0.0, 0.5, 20.0)])
    peaks = straight.get("peak_n"), none.get("peak_n")
    yield share("zero bend equals no friction, peak", "invariance", *peaks, 1e-9)
    doubled = _strokes([Bend(0.2, 0.5, 20.0)], 2.0 * STIFFNESS_N, 180.0)
    energy = _of(doubled, "energy_j") / 2.0
    name = "doubled stiffness and mass: half of the energy"
    yield share(name, "invariance", energy, _of(plain, "energy_j"), 1e-6)
    period_s = 2.0 * pi * sqrt(100.0 / (STIFFNESS_N / 10.0))
    rate_hz = _free_bounce_hz()
    yield share("natural frequency of a straight rope", FORM, rate_hz, 1.0 / period_s, 1e-3)


def _free_bounce_hz() -> float:
    return bench.bounce(100.0, STIFFNESS_N, 10.0, 1e-3).undamped_rad_s / (2.0 * pi)
