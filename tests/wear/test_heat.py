"""Temperature under a rubbing contact against published figures and independent integrals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import erf, k0e

from edgewear.engine.results.heat import contact_m, heat_words
from edgewear.engine.results.heat_source import moving_band_c, moving_band_rise, standing_band_c
from edgewear.scenario.read.libraries import built_in

STEEL = (50.0, 3.7e6)
NYLON = (0.337, 1.85e6)


# Jaeger 1942 (Proc. Roy. Soc. New South Wales 76, 203), uniform band, integral evaluated anew
@pytest.mark.parametrize(("speed", "rise"), [(1.0, 3.116), (10.0, 10.948), (100.0, 35.323)])
def test_a_moving_band_heats_as_jaeger_found(speed: float, rise: float) -> None:
    assert moving_band_rise(np.array([speed]))[0] == pytest.approx(rise, rel=1e-3)


def test_a_fast_band_reaches_the_limit_of_jaeger() -> None:
    # the next term of the series is of order 1/L, so 0.1 % is met well below L = 1e4
    assert moving_band_rise(np.array([1e4]))[0] == pytest.approx(3.5449 * 1e2, rel=1e-3)


@pytest.mark.parametrize("speed", [0.02, 0.7, 3.0, 40.0])
def test_the_largest_rise_is_that_of_the_integral_evaluated_by_brute_force(speed: float) -> None:
    def integrand(u: float) -> float:
        return float(k0e(abs(u)) * math.exp(-u - abs(u)))

    def rise(x: float) -> float:
        return sum(
            quad(integrand, a, b, limit=200)[0] for a, b in ((x - speed, 0.0), (0.0, x + speed))
        )

    best = max(rise(x) for x in np.linspace(-speed, speed, 801)[1:-1])
    # the grid's largest value is below the true one by its curvature over a 1/400 step
    assert moving_band_rise(np.array([speed]))[0] == pytest.approx(best, rel=1e-4)


@pytest.mark.parametrize("duration_s", [1e-4, 0.05, 0.5, 20.0])
def test_a_standing_band_heats_as_the_sum_of_its_instants(duration_s: float) -> None:
    half_m, (conductivity, capacity) = 3e-4, STEEL
    diffusivity = conductivity / capacity

    def instant(root_s: float) -> float:  # strip source released at an instant, in sqrt(time)
        spread = math.sqrt(diffusivity) * root_s
        return (
            2.0
            * float(erf(half_m / (2.0 * spread)))
            / (capacity * math.sqrt(math.pi * diffusivity))
        )

    expected, _ = quad(instant, 0.0, math.sqrt(duration_s), limit=200)
    # E1 is a rational approximation good to 5e-5
    assert standing_band_c(1.0, half_m, duration_s, *STEEL) == pytest.approx(expected, rel=1e-4)


def test_a_standing_band_starts_as_heat_into_a_wide_surface() -> None:
    # 2*q*sqrt(t/(pi*k*c)): one-dimensional heating, Carslaw & Jaeger (from memory)
    wide = 2.0 * math.sqrt(1e-6 / (math.pi * 50.0 * 3.7e6))
    assert standing_band_c(1.0, 0.01, 1e-6, *STEEL) == pytest.approx(wide, rel=1e-9)


def test_a_poor_conductor_gets_hotter_and_more_speed_does_not_cool() -> None:
    flux = 1e7
    assert moving_band_c(flux, 3e-4, 1.0, *NYLON) > moving_band_c(flux, 3e-4, 1.0, *STEEL)
    # at an even flux the surface that passes faster stays under the band for less time
    assert moving_band_c(flux, 3e-4, 2.0, *NYLON) < moving_band_c(flux, 3e-4, 1.0, *NYLON)


def test_the_library_has_nylon_as_measured() -> None:
    # NIST cryogenic material properties, polyamide fit at 300 K: 0.3368 W/(m K), 1619.2 J/(kg K)
    sheath = built_in()["sheaths"]["polyamide"]
    conductivity = float(sheath["conductivity"]["value"].split()[0])
    capacity = float(sheath["heat capacity"]["value"].split()[0])
    assert conductivity == pytest.approx(0.3368, rel=1e-3)
    assert capacity == pytest.approx(1619.2 * 1140.0, rel=5e-3)  # rounded to three figures


def test_marks_say_which_range_a_contact_reached() -> None:
    assert "below" in heat_words(149.0, 150.0, 215.0)
    assert "softening" in heat_words(150.0, 150.0, 215.0)
    assert "melting" in heat_words(215.0, 150.0, 215.0)
    assert "degC" not in heat_words(math.nan, 150.0, 215.0)


@pytest.mark.parametrize(
    ("radius_m", "bend_deg", "figure"),
    [(1e-3, 1.0, False), (1e-3, 60.0, True), (15e-3, 1.0, False), (15e-3, 5.0, True)],
)
def test_a_contact_shorter_than_a_yarn_has_no_temperature(radius_m, bend_deg, figure) -> None:
    # a yarn of 0.05 of 10 mm; arcs of 0.02, 1.05, 0.26 and 1.3 mm
    assert math.isfinite(contact_m(radius_m, math.radians(bend_deg), 10e-3)) == figure
