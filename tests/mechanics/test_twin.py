"""The kernels against their slow twin in plain Python."""

from __future__ import annotations

import pytest

from edgewear import mechanics
from support.lines import JERKY, SMOOTH, climbed, direct
from twins.ascent import Climb, climb

ROUNDING = 1e-9
"""Relative: rounding of some thousand steps, summed in another order."""


def as_climb(buffers: mechanics.Buffers, depth_m: float, length_m: float, stroke: dict) -> Climb:
    """What the twin needs, from the kernels' records."""
    line, edge, person, wear = (
        records[0] for records in (buffers.line, buffers.edges, buffers.person, buffers.wear)
    )
    arc_m = max(edge["radius_m"], wear["arc_share"] * line["diameter_m"])
    area = wear["width_share"] * line["diameter_m"] * arc_m * wear["reference_pressure_pa"]
    cell_m, left_m, _ = buffers.cells
    values = {
        name: float(record[name])
        for record in (line, edge, person, wear)
        for name in record.dtype.names
        if name in Climb._fields
    }
    return Climb(
        **values,
        **stroke,
        depth_m=depth_m,
        length_m=length_m,
        gain=float(edge["severity"] * edge["wet_factor"] / area),
        cell_m=float(cell_m),
        left_m=float(left_m),
        cells=buffers.exposure.shape[1],
    )


@pytest.mark.parametrize(
    ("setback_m", "bend_deg", "friction", "stroke", "values"),
    [
        (20.0, 30.0, 0.2, JERKY, {}),
        (20.0, 30.0, 0.2, SMOOTH, {}),
        (8.0, 80.0, 0.3, SMOOTH, {"stiffness_n": 60e3, "viscous_s": 0.015, "radius_m": 0.02}),
        (45.0, 12.0, 0.1, SMOOTH, {"mass_kg": 120.0, "body_stiffness_n_m": 15e3}),
    ],
)
def test_a_climb_is_what_the_plain_twin_makes_of_it(
    setback_m: float, bend_deg: float, friction: float, stroke: dict, values: dict
) -> None:
    """Sums, worst place, clock and state agree to rounding."""
    buffers = direct([setback_m], [bend_deg], friction, presliding_m=0.0, **values)
    climbed(buffers, 8.0, 1.7, **stroke)
    twin = climb(as_climb(buffers, 8.0, 1.7, stroke))
    state, sums = buffers.state[0], buffers.sums[0]
    assert state["substeps"] == 0  # the twin knows no slack rope
    assert state["tick"] == twin["ticks"]
    assert state["steps"] == twin["steps"]
    assert mechanics.worst(buffers)[0] == pytest.approx(twin["worst"], rel=ROUNDING)
    for name in ("slip_m", "energy_j", "exposure_j"):
        assert sums[name] == pytest.approx(twin[name], rel=ROUNDING, abs=1e-12)
    assert state["peak_n"] == pytest.approx(twin["peak_n"], rel=ROUNDING)
    assert state["depth_m"] == pytest.approx(twin["depth_m"], rel=ROUNDING)
    assert list(state["span_m"][:2]) == pytest.approx(twin["spans_m"], rel=ROUNDING)
