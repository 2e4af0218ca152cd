"""Closed forms of rigging: the taut line, loads on anchors, catches, rope in space."""

from __future__ import annotations

from collections.abc import Iterator
from math import cos, exp, hypot, pi, radians

from edgewear.geometry import catch, loads
from edgewear.geometry.taut_string import taut
from edgewear.validation.exact.row import Row, off, share

FORM = "closed form (derived)"


def lines(full: bool) -> Iterator[Row]:
    """Work the closed forms of rigging."""
    yield from _taut(40 if full else 8)
    yield from _loads()
    yield from _catches()


def _taut(places: int) -> Iterator[Row]:
    """A load off to the side: rolled out into a plane the line is straight."""
    worst_m = worst_y = 0.0
    edge = ((0.0, -30.0, 0.0), (0.0, 30.0, 0.0))
    tilted = ((0.0, -30.0, 1e-9), (0.0, 30.0, -1e-9))  # laid in space, not rolled out
    for k in range(places):
        back, down, aside = 1.0 + k, 2.0 + 1.5 * k, -8.0 + 16.0 * k / places
        for found in (
            taut((-back, 0.0, 0.0), [line], (0.0, aside, -down)) for line in (edge, tilted)
        ):
            worst_m = max(worst_m, abs(found.length_m - hypot(back + down, aside)))
            worst_y = max(worst_y, abs(found.points[1][1] - aside * back / (back + down)))
    yield Row("taut line over an edge, length [m]", FORM, worst_m, 1e-7)
    yield Row("taut line over an edge, crossing [m]", FORM, worst_y, 1e-6)


def _loads() -> Iterator[Row]:
    worst = 0.0
    for angle_deg in range(5, 180, 25):
        angle = radians(angle_deg)
        found = loads.in_plane(1000.0, 1000.0, angle).size_n
        worst = max(worst, abs(found - loads.deviation_load_n(1000.0, angle)))
    yield Row("deviation: vector sum against 2*T*sin(angle/2) [N]", FORM, worst, 1e-9)
    leg = loads.leg_loads_n((0.0, 0.0, -3000.0), [(x, 0.0, cos(pi / 6)) for x in (-0.5, 0.5)])[0]
    expected = loads.y_hang_leg_n(3000.0, radians(60.0))
    yield share("leg of a Y-hang of 60 degrees", FORM, leg, expected, 1e-12)
    haul = loads.haul_n(1.0, [(0.44, pi / 2)])
    yield off("haul over a right angle of concrete, mu 0.44 [1]", FORM, haul, 2.0, 0.005)


def _catches() -> Iterator[Row]:
    """A device that slips at a force: energy in equals energy out."""
    held = catch.catch(100.0, 25e3, 8.0, 2.0, 4000.0)
    sunk = 4000.0 * 8.0 / 25e3
    gained = 100.0 * 9.81 * held.drop_m
    spent = 4000.0 * sunk / 2.0 + 4000.0 * held.slip_m
    yield share("catch by a slipping device: energy closes", FORM, spent, gained, 1e-12)
    length = catch.working_length_m((20.0, 5.0), (exp(0.1),))
    expected = 5.0 + 20.0 / exp(0.1)
    yield share("rope that stretches behind a bend", FORM, length, expected, 1e-12)
