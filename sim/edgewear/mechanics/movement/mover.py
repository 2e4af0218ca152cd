"""What the mover does at an instant: profiles of the device, the anchor end and work in place."""

from __future__ import annotations

from typing import Any

from edgewear.mechanics import scratch as r
from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.jit import inlined, njit
from edgewear.mechanics.step.swing import sine_cosine

JERKY = (0.40, 0.10, 0.40, 0.15, 0.25)
"""Net rise [m], sit-back [m], rise, drop and pause [s] toward which fatigue drifts (assumed)."""


@inlined
def minimum_jerk(x: float) -> Any:
    """Rate of a minimum-jerk movement from 0 to 1 at the share x of its duration; 0 outside.

    30*x^2*(1 - x)^2, the derivative of 10*x^3 - 15*x^4 + 6*x^5 (Flash and Hogan, J. Neurosci. 5
    (1985) 1688, from memory).
    """
    y = max(x * (1.0 - x), 0.0)
    return 30.0 * y * y


@inlined
def ramped(time_s: float, duration_s: float, per_ramp: float) -> Any:
    """Share of full speed at `time_s`: minimum-jerk from rest within a ramp, and back to rest.

    10*x^3 - 15*x^4 + 6*x^5 with x the share of the ramp passed (see `minimum_jerk`). per_ramp: by
    its duration [1/s].
    """
    x = min(time_s, duration_s - time_s) * per_ramp
    if x <= 0.0:
        return 0.0
    if x >= 1.0:
        return 1.0
    return x * x * x * (10.0 + x * (6.0 * x - 15.0))


def _device(phase: int, time_s: float, part_s: float, w: Floats) -> Any:
    """Nominal rate of taking in at the device [m/s]."""
    if phase == r.RISE:
        return w[r.PHASE_P + r.RATE_P] * minimum_jerk(part_s * w[r.PHASE_P + r.PER_DURATION])
    if phase == r.DROP:
        return w[r.PHASE_P + r.RATE_P] * minimum_jerk(time_s * w[r.PHASE_P + r.PER_DURATION])
    if phase == r.PAYOUT:
        share = ramped(time_s, w[r.PHASE_P + r.DURATION], w[r.PHASE_P + r.PER_RAMP])
        return w[r.PHASE_P + r.RATE_P] * share
    return 0.0


device_here = inlined(_device)


@njit
def _rarely(phase: int, time_s: float, w: Floats) -> Any:
    """What `drive` gives while rope is fed at the anchor, or somebody works in place."""
    if phase == r.FEED:
        share = ramped(time_s, w[r.PHASE_P + r.DURATION], w[r.PHASE_P + r.PER_RAMP])
        return 0.0, w[r.PHASE_P + r.RATE_P] * share, 0.0, 0.0, 0.0, 0.0, 0.0
    time_s += w[r.PHASE_P + r.OFFSET_S]
    omega = w[r.PHASE_P + r.OMEGA]
    bounce_m = w[r.PHASE_P + r.BOUNCE]
    sine, cosine = sine_cosine(omega * time_s)
    sway_m = w[r.PHASE_P + r.SWAY]
    sway_rate = 0.0
    if sway_m != 0.0:
        sway_omega = w[r.PHASE_P + r.SWAY_OMEGA]
        swings, turns = sine_cosine(sway_omega * time_s)
        sway_rate = sway_m * sway_omega * turns
        sway_m *= swings
    return (
        0.0,
        0.0,
        bounce_m * sine,
        bounce_m * omega * cosine,
        sway_m,
        sway_rate,
        w[r.PHASE_P + r.TOOL] * sine,
    )


def _drive(phase: int, time_s: float, part_s: float, w: Floats) -> Any:
    """Nominal rate of taking in, of feeding at the anchor, and what work in place does.

    time_s: since the phase began; part_s: progress of a force-limited rise [s].
    Returns (take-in rate, anchor feed rate [m/s], body offset [m], its rate, sway [m], its
    rate, tool force downwards [N]).
    """
    if phase == r.FEED or phase == r.WORK:
        return _rarely(phase, time_s, w)
    return device_here(phase, time_s, part_s, w), 0.0, 0.0, 0.0, 0.0, 0.0, 0.0


drive = njit(_drive)
drive_here = inlined(_drive)
