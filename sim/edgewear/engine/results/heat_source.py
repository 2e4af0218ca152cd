"""Temperature under a rubbing contact in closed form: a band that moves, and one that stands.

Both take an even heat flux over a band that is long across the direction of sliding.

[1] J. C. Jaeger, Moving sources of heat and the temperature at sliding contacts, Proc. Roy. Soc.
    New South Wales 76 (1942) 203.
[2] H. S. Carslaw and J. C. Jaeger, Conduction of Heat in Solids (1959), section 10.5 (from memory).
[3] M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions, 9.8.5 to 9.8.8 and 5.1.53,
    5.1.56 (from memory).
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

SLOWEST, FASTEST = 1e-3, 1e7
"""Dimensionless speeds between which the largest rise is tabulated [1]."""
TABLE = 400
FAST_LIMIT = 2.0 * math.sqrt(math.pi)
"""Of the largest rise over the root of the speed, as the speed grows; 3.5449 [1]."""


def moving_band_rise(speed: Floats) -> Floats:
    """Largest rise of the surface that moves through a band of heat.

    T* = pi*k*V*T/(2*alpha*q) as a function of L = V*b/(2*alpha): T* is the largest value over X of
    the integral of exp(-u)*K0(|u|) from X - L to X + L, with k the conductivity, V the speed,
    T the rise, alpha the diffusivity, q the heat flux, b half the band's length [1].

    Parameters:
        speed: (n,) L [1], above 0.

    Returns:
        (n,) T* [1]; exact to 1e-6.
    """
    speed = np.asarray(speed, float)
    low, high = np.zeros_like(speed), 2.0 * speed
    for _ in range(60):  # halves the bracket of the place of the largest rise
        middle = 0.5 * (low + high)
        colder = _k_rising(middle)[0] > _k_falling(2.0 * speed - middle)[0]
        low, high = np.where(colder, middle, low), np.where(colder, high, middle)
    ahead = 0.5 * (low + high)
    behind = 2.0 * speed - ahead
    k0, k1 = _k_rising(ahead)
    l0, l1 = _k_falling(behind)
    rise: Floats = ahead * (k0 + k1) + behind * (l0 - l1)
    return rise


def moving_band_c(
    flux_w_m2: float, half_m: float, speed_m_s: float, conductivity: float, capacity: float
) -> float:
    """Largest rise of a surface that moves through a band of heat [K].

    Parameters:
        flux_w_m2: heat flux into it.
        half_m: half the band's length along the movement.
        speed_m_s: of the surface relative to the band.
        conductivity: [W/(m K)].
        capacity: heat capacity of a volume [J/(m3 K)].
    """
    diffusivity = conductivity / capacity
    speed = speed_m_s * half_m / (2.0 * diffusivity)
    return 2.0 * diffusivity * flux_w_m2 * _rise(speed) / (math.pi * conductivity * speed_m_s)


def standing_band_c(
    flux_w_m2: float, half_m: float, duration_s: float, conductivity: float, capacity: float
) -> float:
    """Rise in the middle of a band of heat that stands still on a surface, after a while [K].

    T = (2*q/k)*sqrt(alpha*t/pi)*[erf(z) + z/sqrt(pi)*E1(z^2)], z = b/(2*sqrt(alpha*t)) [2].

    Parameters:
        flux_w_m2: heat flux into it.
        half_m: half the band's length.
        duration_s: since the heat came on.
        conductivity: [W/(m K)].
        capacity: heat capacity of a volume [J/(m3 K)].
    """
    reach_m = math.sqrt(conductivity / capacity * duration_s)
    z = half_m / (2.0 * reach_m)
    shape = math.erf(z) + z / math.sqrt(math.pi) * _e1(z * z)
    return 2.0 * flux_w_m2 / conductivity * reach_m / math.sqrt(math.pi) * shape


def _rise(speed: float) -> float:
    """`moving_band_rise` of one number, from a table."""
    if speed > FASTEST:
        return FAST_LIMIT * math.sqrt(speed)
    at, values = _table()
    return float(np.exp(np.interp(math.log(max(speed, SLOWEST)), at, values)))


@cache
def _table() -> tuple[Floats, Floats]:
    speeds = np.geomspace(SLOWEST, FASTEST, TABLE)
    return np.log(speeds), np.log(moving_band_rise(speeds))


def _k_rising(x: Floats) -> tuple[Floats, Floats]:
    """exp(x)*K0(x) and exp(x)*K1(x) [1]."""
    small = np.minimum(np.maximum(x, 1e-12), 2.0)
    k0, k1 = _k_small(small)
    grow, large = np.exp(small), np.maximum(x, 2.0)
    r0, r1 = _k_large(large)
    return np.where(x < 2.0, grow * k0, r0), np.where(x < 2.0, grow * k1, r1)


def _k_falling(x: Floats) -> tuple[Floats, Floats]:
    """exp(-x)*K0(x) and exp(-x)*K1(x) [1]."""
    k0, k1 = _k_rising(x)
    fall = np.exp(-2.0 * np.minimum(x, 300.0))
    return fall * k0, fall * k1


def _k_small(x: Floats) -> tuple[Floats, Floats]:
    """K0 and K1 for 0 < x <= 2 by polynomials; error below 1e-7 [3]."""
    t, y = (x / 3.75) ** 2, (x / 2.0) ** 2
    i0 = _polynomial(t, 1.0, 3.5156229, 3.0899424, 1.2067492, 0.2659732, 0.0360768, 0.0045813)
    i1 = x * _polynomial(
        t, 0.5, 0.87890594, 0.51498869, 0.15084934, 0.02658733, 0.00301532, 0.00032411
    )
    k0 = -np.log(x / 2.0) * i0 + _polynomial(
        y, -0.57721566, 0.42278420, 0.23069756, 0.03488590, 0.00262698, 0.00010750, 0.00000740
    )
    k1 = np.log(x / 2.0) * i1 + _polynomial(
        y, 1.0, 0.15443144, -0.67278579, -0.18156897, -0.01919402, -0.00110404, -0.00004686
    ) / x  # fmt: skip
    return k0, k1


def _k_large(x: Floats) -> tuple[Floats, Floats]:
    """exp(x)*K0(x) and exp(x)*K1(x) for x >= 2 by polynomials; error below 2.2e-7 [3]."""
    z = 2.0 / x
    k0 = _polynomial(
        z, 1.25331414, -0.07832358, 0.02189568, -0.01062446, 0.00587872, -0.00251540, 0.00053208
    )
    k1 = _polynomial(
        z, 1.25331414, 0.23498619, -0.03655620, 0.01504268, -0.00780353, 0.00325614, -0.00068245
    )
    root = np.sqrt(x)
    return k0 / root, k1 / root


def _polynomial(x: Floats, *coefficients: float) -> Floats:
    value = np.zeros_like(x)
    for coefficient in reversed(coefficients):
        value = value * x + coefficient
    return value


def _e1(x: float) -> float:
    """Exponential integral E1 of x > 0 [1], error below 2e-7 up to 1, then 5e-5 relative [3]."""
    if x < 1.0:
        terms = (-0.57721566, 0.99999193, -0.24991055, 0.05519968, -0.00976004, 0.00107857)
        return sum(a * x**i for i, a in enumerate(terms)) - math.log(x)
    over = x * x + 2.334733 * x + 0.250621
    under = x * x + 3.330657 * x + 1.681534
    return math.exp(-min(x, 700.0)) / x * over / under
