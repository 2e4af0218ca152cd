"""Random climbs that the kernels and an independent solver both can make."""

from __future__ import annotations

import math

import numpy as np

from edgewear import mechanics
from edgewear.layout import EDGE, LINE, MOVEMENT, PERSON, WEAR, Kind, Status
from twins.lines import TECHNIQUES
from twins.reference_line import System


def random_system(seed):
    """One to six bends, any technique, 0.5 to 60 m behind the last bend."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(1, 7))
    setback = rng.uniform(0.5, 60.0)
    shares = rng.dirichlet(np.full(count, 2.0))
    technique = TECHNIQUES[int(rng.integers(3))]
    return System(
        after_m=tuple(np.maximum(setback * shares, 0.1)),
        bends_rad=tuple(np.radians(rng.uniform(1.0, 170.0, count))),
        frictions=tuple(rng.uniform(0.05, 0.45, count)),
        stiffness_n=rng.uniform(25e3, 60e3),
        tau_s=rng.uniform(0.015, 0.06),
        mass_kg=rng.uniform(75.0, 130.0),
        body_n_m=rng.uniform(5e3, 15e3),
        force_ratio=rng.uniform(1.3, 1.8),
        depth_m=rng.uniform(5.0, 12.0),
        rise_m=technique["rise_m"],
        back_m=technique["sit_back_m"],
        rise_s=technique["rise_s"],
        drop_s=technique["drop_s"],
        pause_s=technique["pause_s"],
        strokes=3,
    )


def kernel(system, step_s=0.01):
    """Buffers of the same system after the same strokes, by the step kernel."""
    count = len(system.after_m)
    line, edges = np.zeros(1, LINE), np.zeros(count, EDGE)
    person, wear = np.zeros(1, PERSON), np.ones(1, WEAR)
    line["direct"], line["edge_count"], line["rope_m"] = 1, count, 150.0
    line["stiffness_n"], line["viscous_s"] = system.stiffness_n, system.tau_s
    line["diameter_m"], line["device_slip_n"] = system.contact_m, math.inf
    edges["friction"], edges["bend_rad"] = system.frictions, system.bends_rad
    edges["after_m"], edges["radius_m"] = system.after_m, 1e-4
    for field in ("static_ratio", "power_exponent", "severity", "wet_factor"):
        edges[field] = 1.0
    person["mass_kg"], person["body_stiffness_n_m"] = system.mass_kg, system.body_n_m
    person["force_ratio"] = system.force_ratio
    wear["sheath_j_m"] = wear["core_j_m"] = wear["breaking_n"] = 1e30
    wear["presliding_m"], wear["law"] = 0.0, 1
    table = mechanics.route(line, edges)
    buffers = mechanics.allocate(line, edges, person, wear, table, cell_m=2e-4, step_s=step_s)
    load, climb = np.zeros(1, MOVEMENT), np.zeros(1, MOVEMENT)
    load["kind"], load["depth_m"] = Kind.LOAD, system.depth_m
    climb["kind"], climb["length_m"] = Kind.STROKES, system.strokes * system.rise_m
    climb["rise_m"], climb["sit_back_m"] = system.rise_m, system.back_m
    climb["rise_s"], climb["drop_s"] = system.rise_s, system.drop_s
    climb["pause_s"] = system.pause_s
    for movement in (load, climb):
        args = (movement, np.zeros((10, 2)), 2**62, False, 0, math.inf)
        assert mechanics.advance(buffers, *args) & Status.DONE
    return buffers
