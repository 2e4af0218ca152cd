"""The engine against a program written from the specification alone, file to demand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from edgewear.case import compile_case
from edgewear.engine.player import Player, Recording
from edgewear.engine.results.outcome import outcome
from edgewear.engine.run_job import perform
from edgewear.scenario import load_text
from support.lines import TECHNIQUES
from twins.by_the_page import Climb, Result, climb

SHARE = 1e-3
"""Asked of the engine's own steps, up to 15 ms; the twin's steps of 0.1 ms err by far less."""
LEAST = {"slip_m": 1e-4, "energy_j": 0.02, "peak_n": 0.1}
"""What is nothing on site: 0.1 mm of slip, 20 mJ of friction, 0.1 N."""
SHARE_AT_ONE_PLACE = 5e-3
"""Asked of the demand at the worst place: within half a step the engine spreads energy evenly over
what slid, the twin instant by instant. With steps of half the length `SHARE` is asked."""


def random_climb(seed: int) -> Climb:
    """One to six bends, any technique, every number of the specification at random."""
    rng = np.random.default_rng((seed, 15))
    count = int(rng.integers(1, 7))
    stroke = TECHNIQUES[int(rng.integers(3))]
    return Climb(
        elongation=rng.uniform(0.02, 0.05),
        stiffness_factor=rng.uniform(0.8, 1.2),
        dynamic_ratio=rng.uniform(1.0, 2.0),
        tau_s=rng.uniform(0.015, 0.06),
        diameter_m=rng.uniform(0.009, 0.012),
        rope_kg_m=rng.uniform(0.06, 0.08),
        sheath_share=rng.uniform(0.3, 0.5),
        toughness=rng.uniform(0.5, 12.0),
        frictions=tuple(rng.uniform(0.05, 0.45, count)),
        radii_m=tuple(np.exp(rng.uniform(math.log(0.5e-3), math.log(0.03), count))),
        bends_rad=tuple(rng.uniform(0.05, 2.5, count)),
        free_m=tuple(np.maximum(rng.uniform(1.0, 60.0) * rng.dirichlet(np.full(count, 2.0)), 0.2)),
        roughness=tuple(rng.uniform(0.5, 2.0, count)),
        wet_factor=1.0,
        mass_kg=rng.uniform(75.0, 130.0),
        body_n_m=rng.uniform(5e3, 15e3),
        force_ratio=rng.uniform(1.3, 1.8),
        start_m=rng.uniform(5.0, 12.0),
        height_m=stroke["rise_m"] * rng.uniform(1.5, 3.0),
        rise_m=stroke["rise_m"] * rng.uniform(0.8, 1.2),
        back_m=stroke["sit_back_m"] * rng.uniform(0.5, 1.5),
        rise_s=stroke["rise_s"],
        drop_s=stroke["drop_s"],
        pause_s=stroke["pause_s"],
        radius_exponent=rng.uniform(0.2, 1.0),
        fibre_kg_m3=rng.uniform(1120.0, 1390.0),
        contact_share=rng.uniform(0.2, 0.3),
        rotation=rng.uniform(1.0, 1.25),
        sheath_j_m3=rng.uniform(1.4e8, 5.1e8),
        pressure_pa=rng.uniform(1e8, 2e8),
        speed_m_s=rng.uniform(0.5, 1.5),
        cold_share=rng.uniform(0.02, 0.1),
        width_share=rng.uniform(0.4, 0.6),
        arc_share=rng.uniform(0.05, 0.2),
        presliding_m=rng.uniform(0.2e-3, 3e-3),
    )


def typed(c: Climb) -> str:
    """The scenario file in which a case is typed."""
    edges = "\n".join(
        f"  e{j}: {{radius: {1e3 * c.radii_m[j]:.12g} mm, surface: {{"
        f"friction: {c.frictions[j]:.12g}, static ratio: 1, roughness: {c.roughness[j]:.12g},"
        " conductivity: 50 W/(m K), heat capacity: 3.7e6 J/(m3 K)}}"
        for j in range(len(c.free_m))
    )
    over = ", ".join(
        f"{{edge: e{j}, after: {c.free_m[j]:.12g} m, "
        f"bend: {math.degrees(c.bends_rad[j]):.12g} deg}}"
        for j in range(len(c.free_m))
    )
    return f"""edgewear: 1
title: typed
setting: test
wear:
  sheath energy: {c.sheath_j_m3:.12g} J/m3
  contact share: {100 * c.contact_share:.12g} %
  rotation: {c.rotation:.12g}
  reference pressure: {c.pressure_pa:.12g} Pa
  reference speed: {c.speed_m_s:.12g} m/s
  cold share: {c.cold_share:.12g}
  width share: {c.width_share:.12g}
  arc share: {c.arc_share:.12g}
  presliding: {c.presliding_m:.12g} m
  radius exponent: {c.radius_exponent:.12g}
  fibre density: {c.fibre_kg_m3:.12g}
edges:
{edges}
ropes:
  r:
    family: low-stretch
    type: A
    diameter: {1e3 * c.diameter_m:.12g} mm
    strength: 30 kN
    elongation: {100 * c.elongation:.12g} %
    stiffness factor: {c.stiffness_factor:.12g}
    dynamic ratio: {c.dynamic_ratio:.12g}
    damping: {c.tau_s:.12g} s
    length: 200 m
    stopper: yes
    sheath share: {100 * c.sheath_share:.12g} %
    sheath: {{toughness: {c.toughness:.12g}, softens: 180 degC, melts: 220 degC,
      conductivity: 0.3 W/(m K), heat capacity: 1.8e6 J/(m3 K)}}
    mass: {1e3 * c.rope_kg_m:.12g} g/m
    termination: 0.65
people:
  p:
    mass: {c.mass_kg:.12g} kg
    body stiffness: {1e-3 * c.body_n_m:.12g} kN/m
    force ratio: {c.force_ratio:.12g}
    start: {c.start_m:.12g} m
    technique: {{rise: {c.rise_m:.12g} m, sit back: {c.back_m:.12g} m, rise time: {c.rise_s:.12g} s,
      drop time: {c.drop_s:.12g} s, pause time: {c.pause_s:.12g} s, amplitude cv: 0, timing cv: 0,
      skill: 0 %, fatigue: 0, descent speed: 1 m/s, stop distance: 0.1 m, stop every: 3 m}}
    system: {{rise factor: 1, slack: 0 mm}}
options:
  o: {{rope: r, over: [{over}]}}
job:
  - ascend: {c.height_m:.12g} m
when: {{core visible: carry on}}
"""


def engine(c: Climb, step_s: float = 0.015) -> Result:
    """What edgewear makes of the file, in steps of so many seconds at most."""
    scenario = load_text(typed(c))
    recording = Recording(step_s=step_s)
    done = perform(scenario, compile_case(scenario, "o"), recording=recording)
    player: Player = done.player
    run = outcome(player, done.ticks).run
    sums = player.buffers(player.in_use[0]).sums
    return Result(
        slip_m=np.array(sums["slip_m"][: len(c.free_m)]),
        energy_j=np.array(sums["energy_j"][: len(c.free_m)]),
        peak_n=float(run["peak_tension_n"][0]),
        demand=float(run["sheath_demand_max"][0]),
        duration_s=done.ticks * 1e-4,
        strokes=int(run["strokes"][0]),
    )


def check(seed: int) -> None:
    """Both say the same of a random climb."""
    case = random_climb(seed)
    page, found = climb(case), engine(case)
    assert found.strokes == page.strokes
    for name, least in LEAST.items():
        wanted = pytest.approx(getattr(page, name), rel=SHARE, abs=least)
        assert getattr(found, name) == wanted, name
    assert found.demand == pytest.approx(page.demand, rel=SHARE_AT_ONE_PLACE)
    assert engine(case, 0.005).demand == pytest.approx(page.demand, rel=SHARE)


@pytest.mark.parametrize("seed", range(5))
def test_the_engine_does_what_the_page_says(seed: int) -> None:
    check(seed)


@pytest.mark.long
@pytest.mark.parametrize("seed", range(50))
def test_the_engine_does_what_the_page_says_in_50_random_systems(seed: int) -> None:
    check(seed)
