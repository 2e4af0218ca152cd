"""Climbing and work on lines laid in space, through the step kernel."""

from __future__ import annotations

import numpy as np
import pytest

from edgewear import mechanics
from edgewear.layout import MOVEMENT, PERSON, WEAR, Kind, Status
from edgewear.mechanics.contacts import contacts_in_space
from edgewear.rigging import rig
from support import site
from support.section_records import records

SPIKE = {**site.PIER, "spike": site.anchor(1.4, -6.0, along=0.6)}
FAR_TICK = 2**62


def section_of(**more):
    return rig(site.pier(site.line("far bollards", **more), anchors=SPIKE), "only").sections[0]


def played(section, in_space):
    """Buffers after hanging on at 18 m, climbing past all edges but two, and some work."""
    line, edges = records(section)
    line["stiffness_n"], line["viscous_s"], line["device_slip_n"] = 45e3, 0.03, np.inf
    line["diameter_m"], line["rope_kg_m"] = 0.011, 0.075
    for field, value in (("friction", 0.2), ("radius_m", 5e-3)):
        edges[field] = value
    for field in ("static_ratio", "power_exponent", "severity", "wet_factor"):
        edges[field] = 1.0
    person, wear = np.zeros(1, PERSON), np.ones(1, WEAR)
    person["mass_kg"], person["body_stiffness_n_m"], person["force_ratio"] = 100.0, 1e4, 1.5
    wear["sheath_j_m"], wear["core_j_m"], wear["breaking_n"], wear["law"] = 1e9, 1e9, 3e4, 0
    table = (
        contacts_in_space.route_in_space(line, edges) if in_space else mechanics.route(line, edges)
    )
    buffers = mechanics.allocate(line, edges, person, wear, table)
    for movement in (
        {"kind": Kind.LOAD, "depth_m": 18.0},
        {
            "kind": Kind.STROKES,
            "length_m": 14.5,
            "rise_m": 0.4,
            "sit_back_m": 0.1,
            "rise_s": 0.4,
            "drop_s": 0.15,
            "pause_s": 0.25,
        },
        {
            "kind": Kind.WORK,
            "duration_ticks": 100_000,
            "bounce_m": 0.02,
            "bounce_hz": 0.5,
            "sway_m": 0.1,
            "sway_hz": 0.25,
        },
    ):
        record = np.zeros(1, MOVEMENT)
        for field, value in movement.items():
            record[field] = value
        args = (record, np.ones((100, 2)), FAR_TICK, False, 0, np.inf)
        assert mechanics.advance(buffers, *args) & Status.DONE
    return buffers


def test_a_line_laid_in_space_moves_as_in_the_plane():
    section = section_of()
    plane, pieced = played(section, in_space=False), played(section, in_space=True)
    # lengths are within 1e-4 m of 40 m and bends within 1e-3 rad of 0.1 to 1: 1 % of energies
    assert pieced.sums["energy_j"] == pytest.approx(plane.sums["energy_j"], rel=1e-2)
    assert pieced.sums["slip_m"] == pytest.approx(plane.sums["slip_m"], rel=1e-2)
    assert pieced.state["peak_n"] == pytest.approx(plane.state["peak_n"], rel=1e-2)
    # sums of energy are held to 1e-4 of all flows
    assert mechanics.residual(pieced) < 1e-4


def test_a_line_led_through_a_deviation_keeps_its_energy():
    led = section_of(deviations=(site.deviation("spike"),))
    buffers = played(led, in_space=False)  # `route` finds that it needs space
    names = [item.name for item in led.edges]
    rubbed = dict(zip(names, buffers.sums["energy_j"], strict=True))
    assert rubbed["spike"] > 0.0
    assert rubbed["ledge"] == 0.0  # the deviation keeps the line off it
    assert mechanics.residual(buffers) < 1e-4
