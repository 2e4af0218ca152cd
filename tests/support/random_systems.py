"""Random climbs that the kernels and an independent solver both can make."""

from __future__ import annotations

import dataclasses
import math

import numpy as np

from edgewear import mechanics
from edgewear.layout import EDGE, LINE, MOVEMENT, PERSON, WEAR, Kind, Status
from support.lines import TECHNIQUES
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


def of_few_bends(seed, **other):
    """One to three bends with spans of half a metre and more; fields by name replace its own."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(1, 4))
    values = {
        "after_m": tuple(rng.uniform(0.5, 20.0 / count, count)),
        "bends_rad": tuple(np.radians(rng.uniform(10.0, 120.0, count))),
        "frictions": tuple(rng.uniform(0.05, 0.45, count)),
    }
    return dataclasses.replace(random_system(seed), **values | other)


def with_power_law(seed):
    """Friction a*N^n with n of 0.6 to 0.95, holding at 700 N as 0.05 to 0.45 would."""
    rng = np.random.default_rng((seed, 1))
    system = of_few_bends(seed)
    exponent = rng.uniform(0.6, 0.95, len(system.after_m))
    radius_m = rng.uniform(0.5e-3, 3e-3, len(exponent))
    grip = np.array(system.frictions) * (700.0 / radius_m) ** (1.0 - exponent)
    return dataclasses.replace(
        system, frictions=tuple(grip), exponents=tuple(exponent), radii_m=tuple(radius_m)
    )


def with_static(seed):
    """Every other bend or so holds at rest 1.05 to 1.4 times what it does sliding."""
    rng = np.random.default_rng((seed, 2))
    system = of_few_bends(seed)
    ratio = rng.uniform(1.05, 1.4, len(system.after_m))
    ratio[1:][rng.random(len(ratio) - 1) < 0.4] = 1.0
    return dataclasses.replace(system, static_ratios=tuple(ratio))


def on_a_slant(seed):
    """One edge, the person's track 0.05 to 1 m out from it: its bend grows with the depth."""
    rng = np.random.default_rng((seed, 3))
    falls_rad = float(rng.uniform(-0.4, 0.4))
    system = of_few_bends(
        seed, after_m=(float(rng.uniform(0.5, 20.0)),), bends_rad=(0.0,),
        frictions=(float(rng.uniform(0.05, 0.45)),), falls_rad=falls_rad,
    )  # fmt: skip
    # three strokes bring them to 1.5 m below the edge and further
    depth_m = float(rng.uniform(1.5, 6.0)) + 3.0 * (system.rise_m + system.back_m)
    return dataclasses.replace(system, out_m=float(rng.uniform(0.05, 1.0)), depth_m=depth_m)


def with_static_on_a_slant(seed):
    """The same with an edge that holds at rest 1.05 to 1.4 times what it does sliding."""
    ratio = float(np.random.default_rng((seed, 4)).uniform(1.05, 1.4))
    return dataclasses.replace(on_a_slant(seed), static_ratios=(ratio,))


def kernel(system, step_s=0.015):
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
    if system.exponents:
        edges["power_exponent"], edges["radius_m"] = system.exponents, system.radii_m
    if system.static_ratios:
        edges["static_ratio"] = system.static_ratios
    if system.falls_rad is not None:
        line["direct"], line["load_out_m"] = 0, system.out_m
        line["anchor_m"][0, 0] = -system.after_m[0] * math.cos(system.falls_rad)
        line["anchor_m"][0, 2] = system.after_m[0] * math.sin(system.falls_rad)
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
