"""A rope that saws slowly over one bend against closed forms, integrated here by scipy.

0.1 % is what slow cycles are asked to keep: the weight is moved, not placed, so its acceleration
and the finite step are in the kernel's answer and not in the closed form.
"""

from __future__ import annotations

import math

import pytest
from scipy.integrate import quad

from support.slow_cycle import STIFFNESS_N, WEIGHT_N, one_cycle

WRAP = math.radians(30)
RATIO = math.exp(0.2 * WRAP)
LOW, HIGH = WEIGHT_N - 600.0, WEIGHT_N + 600.0
SETBACKS = [2.0, 6.0, 20.0, 60.0]


def strained(tension):
    return 1.0 + tension / STIFFNESS_N


@pytest.mark.parametrize("setback", SETBACKS)
def test_travel_of_a_mark_and_energy_of_the_loop(setback):
    found = one_cycle(setback, WRAP, 600.0)
    longest, shortest = setback / strained(RATIO * LOW), setback / strained(HIGH / RATIO)
    assert found.amplitude_m == pytest.approx(longest - shortest, rel=1e-3)

    def toward_load(s):
        behind = STIFFNESS_N * (setback / s - 1.0)
        ahead = RATIO * behind
        return (ahead - behind) * (strained(behind) + strained(ahead)) / 2.0

    def toward_anchor(s):
        behind = STIFFNESS_N * (setback / s - 1.0)
        ahead = behind / RATIO
        return (behind - ahead) * (strained(behind) + strained(ahead)) / 2.0

    loop = quad(toward_load, shortest, longest)[0] + quad(toward_anchor, shortest, longest)[0]
    assert found.energy_j == pytest.approx(loop, rel=1e-3)


@pytest.mark.parametrize("setback", SETBACKS)
@pytest.mark.parametrize("radius", [1e-3, 5e-3, 20e-3])
def test_energy_a_metre_at_the_worst_place(setback, radius):
    contact = max(radius * WRAP, 0.011)
    found = one_cycle(setback, WRAP, 600.0, radius)
    if contact >= found.amplitude_m:
        pytest.skip("the contact is longer than the travel: another form holds")
    shortest = setback / strained(HIGH / RATIO)

    def both_ways(s):
        behind = STIFFNESS_N * (setback / s - 1.0)
        out = behind * (RATIO - 1.0) * (strained(behind) + strained(behind * RATIO)) / 2.0
        back = behind * (1.0 - 1.0 / RATIO) * (strained(behind) + strained(behind / RATIO)) / 2.0
        return out + back

    mean = quad(both_ways, shortest, shortest + contact)[0] / contact
    assert found.worst_j_m == pytest.approx(mean, rel=5e-3)


@pytest.mark.parametrize("beyond", [0.99, 0.999, 1.001, 1.01])
def test_a_cycle_slips_if_its_tensions_differ_by_more_than_the_square(beyond):
    wide = beyond * math.exp(2 * 0.2 * WRAP)
    found = one_cycle(20.0, WRAP, WEIGHT_N * (wide - 1.0) / (wide + 1.0))
    assert (found.slip_m > 1e-8) == (beyond > 1.0)
