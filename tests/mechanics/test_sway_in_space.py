"""A load that sways stretches a line laid in space as it does one in the plane."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear import mechanics
from edgewear.layout import Kind
from edgewear.mechanics.contacts.contacts_in_space import route_in_space
from edgewear.mechanics.step.last_span import bend_aside, tilt
from edgewear.mechanics.step.near_one import SMALL, near_one
from edgewear.mechanics.step.swing import sine_cosine
from support.lines import move, surveyed

ONE = [(0.0, 0.0)]
TWO = [(0.0, 0.0), (0.2, -1.0)]


def swayed(
    points: list[tuple[float, float]], below_m: float, sway_m: float, in_space: bool
) -> mechanics.Buffers:
    """A minute of work in place on a line over edges that run straight along the face."""
    buffers = surveyed((-6.0, 0.3), points, points[-1][0] + 0.3)
    for place, name in ((-1.0, "start_m"), (1.0, "end_m")):
        buffers.edges[name][:, 1] = place
    if in_space:
        buffers = buffers._replace(regimes=route_in_space(buffers.line, buffers.edges))
    mechanics.advance(buffers, move(Kind.LOAD, depth_m=below_m - points[-1][1]))
    mechanics.advance(buffers, move(Kind.WORK, duration_ticks=600_000, sway_m=sway_m, sway_hz=0.25))
    return buffers


@pytest.mark.parametrize("points", [ONE, TWO])
@pytest.mark.parametrize("sway_m", [0.1, 0.3])
@pytest.mark.parametrize("below_m", [1.0, 2.0, 5.0])
def test_a_sway_saws_in_space_as_in_the_plane(
    points: list[tuple[float, float]], below_m: float, sway_m: float
) -> None:
    plane, space = (swayed(points, below_m, sway_m, one) for one in (False, True))
    assert plane.regimes["closed"].any()
    assert not space.regimes["closed"].any()
    # a table's lengths are within 1e-4 m: 2 % of the 5 mm by which 0.1 m aside stretches 1 m
    assert plane.sums["slip_m"].max() > 0.0
    np.testing.assert_allclose(space.sums["slip_m"], plane.sums["slip_m"], rtol=0.02)
    np.testing.assert_allclose(space.sums["exposure_j"], plane.sums["exposure_j"], rtol=0.04)
    assert mechanics.residual(space) < 1e-4


@given(st.floats(0.02, 3.0), st.floats(0.0, 0.2))
def test_a_bend_seen_aside_is_that_between_two_directions(bend: float, share: float) -> None:
    """cos(theta') = cos(theta)*cos(phi): the angle of a rope led aside by phi out of the plane."""
    sideways = math.asin(share)
    exact = math.acos(math.cos(bend) * math.cos(sideways))
    found = bend_aside.py_func(bend, share, tilt.py_func(bend))
    # the next order: phi^4 times what grows as the bend nears half a turn
    assert found == pytest.approx(exact, abs=share**4 * (2.0 + 1.0 / math.sin(bend) ** 3) + 1e-12)


@given(st.floats(-1e6, 1e6))
def test_sine_and_cosine_are_the_librarys(x: float) -> None:
    sine, cosine = sine_cosine.py_func(x)
    # two units in the last place of 1, and what so many quarters of the second part's end leave
    assert sine == pytest.approx(math.sin(x), abs=4.5e-16)
    assert cosine == pytest.approx(math.cos(x), abs=4.5e-16)


@given(st.floats(-SMALL, SMALL))
def test_a_factor_near_one_is_the_librarys(x: float) -> None:
    assert near_one.py_func(x) == pytest.approx(math.exp(x), rel=6e-16)  # three units of the last
