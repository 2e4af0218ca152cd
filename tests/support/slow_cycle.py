"""One slow cycle of tension on a rope over one bend, by the step kernel on its test stand."""

from __future__ import annotations

from dataclasses import dataclass

from edgewear.engine.bench_line import BenchLine, Bend
from edgewear.layout import Kind

STIFFNESS_N = 45e3
WEIGHT_N = 100.0 * 9.81
SLOW_HZ = 0.005
"""So slow that the weight's inertia adds less than 1e-4 to its force."""


@dataclass(frozen=True)
class Cycle:
    """What a cycle does after the first have settled."""

    slip_m: float
    energy_j: float
    amplitude_m: float
    worst_j_m: float


def one_cycle(setback_m, wrap_rad, tool_n, radius_m=1e-3):
    """The third cycle: a run of three less a run of two."""
    two, three = (_swung(setback_m, wrap_rad, tool_n, radius_m, count) for count in (2, 3))

    def third(field):
        return float(three.buffers.sums[field][0] - two.buffers.sums[field][0])

    return Cycle(
        slip_m=third("slip_m"),
        energy_j=third("energy_j"),
        amplitude_m=float(three.buffers.sums["sawing_m"][0]),
        worst_j_m=three.worst_j_m() - two.worst_j_m(),
    )


def _swung(setback_m, wrap_rad, tool_n, radius_m, cycles):
    bend = Bend(0.2, wrap_rad, setback_m, radius_m=radius_m)
    stand = BenchLine(STIFFNESS_N, 1e-3, 100.0, [bend], cell_m=2e-4)
    stand.make(Kind.LOAD, depth_m=5.0)
    ticks = round(cycles / SLOW_HZ * 1e4)
    stand.make(Kind.WORK, duration_ticks=ticks, bounce_hz=SLOW_HZ, tool_n=tool_n)
    return stand
