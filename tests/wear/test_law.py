"""The law's bookkeeping: energy kept, cells and steps that do not matter, slow machines."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from edgewear import mechanics
from edgewear.engine.play import play
from edgewear.engine.player import Player
from edgewear.validation.trials import compiled, nominal, unbreakable, with_law
from support.one_edge import OneEdge, demand

BENCH = """\
edgewear: 1
title: slow machine
setting: test
edges: {{arris: {{radius: 1 mm, surface: steel, roughness: 1}}}}
ropes: {{rope: {{like: {rope}, length: 30 m, stopper: yes}}}}
options:
  bare: {{rope: rope, over: [{{edge: arris, after: 2 m, bend: 60 deg}}]}}
job: [{{reciprocate: {{load: 120 kg, travel: 0.5 m, speed: 0.05 m/s, cycles: {cycles}}}}}]
when: {{core visible: carry on}}
"""


def bench(rope: str, cycles: int = 40) -> float:
    case, tape = compiled(BENCH.format(rope=rope, cycles=cycles))
    return float(nominal(unbreakable(case), tape)["sheath_demand_max"][0])


@pytest.mark.parametrize("technique", ["smooth", "jerky"])
def test_what_is_deposited_is_what_friction_dissipates(technique: str) -> None:
    case, tape = compiled(OneEdge(technique=technique, ascents=2).text)
    case = with_law(unbreakable(case), "energy")
    wear = case.wear.copy()
    wear["presliding_m"] = 0.0
    player = Player(replace(case, wear=wear))
    play(player, player.case.batch(tape, {}, 1))
    buffers = player.buffers(0)
    cell_m = float(buffers.cells[0])
    kept_j = float(mechanics.exposure_by_edge(buffers).sum()) * cell_m
    sums = buffers.sums[0]
    # slipping while the load came on slowly is booked apart
    made_j = float(sums["energy_j"])
    assert kept_j == pytest.approx(made_j, rel=1e-9)


def demand_with(cell_m: float, step_s: float) -> float:
    """Demand of the reference ascent with cells and steps of another length."""
    case, tape = compiled(OneEdge().text)
    batch, player = case.batch(tape, {}, 1), Player(case)
    player.begin(batch, 0)
    line, edges = batch.lines[0, 0:1], batch.edges[0, 0, :1]
    player._buffers[0] = mechanics.allocate(
        line, edges, batch.people[0, 0:1], batch.wear[0, 0:1], mechanics.route(line, edges),
        cell_m=cell_m, step_s=step_s,
    )  # fmt: skip
    play(player, batch)
    buffers = player.buffers(0)
    assert list(buffers.cells[[0, 2]]) == [cell_m, step_s]
    return mechanics.worst(buffers)[0] / float(buffers.wear["sheath_j_m"][0])


@pytest.mark.parametrize(("cell_m", "step_s"), [(2e-3, 0.01), (4e-3, 0.01), (1e-3, 0.005)])
def test_cells_and_the_step_do_not_matter(cell_m: float, step_s: float) -> None:
    # 1 %: far below what nobody knows of wear; a window of one diameter spans 3 cells of 4 mm
    assert demand_with(cell_m, step_s) == pytest.approx(demand_with(1e-3, 0.01), rel=0.01)


def test_a_slow_machine_wears_the_sheath_and_more_sheath_lasts_longer() -> None:
    # common practice, no published source: thicker and reinforced ropes last longer
    eleven, twelve = bench("low-stretch 11"), bench("low-stretch 12")
    assert eleven > 0.1  # at 0.05 m/s the part that needs no heat is left, c of c + v/v0
    assert bench("low-stretch 9") > eleven > twelve > bench("low-stretch 11 reinforced") > 0.0


def test_a_machine_that_goes_on_wears_on() -> None:
    # same strokes over the same place: proportional but for the slow start of the first
    assert bench("low-stretch 11", 80) == pytest.approx(2.0 * bench("low-stretch 11", 40), rel=0.02)


def test_wet_grit_and_ice_scale_the_wear_of_an_edge() -> None:
    text = OneEdge().text
    dry = demand(OneEdge())
    for state, factor in (("wet", 1.3), ("gritty", 2.0), ("icy", 0.5)):
        case, tape = compiled(text.replace("surface: steel,", f"surface: steel, state: {state},"))
        found = nominal(unbreakable(case), tape)["sheath_demand_max"][0]
        assert found / dry == pytest.approx(factor, rel=1e-9)  # the library's middle values


def test_severity_is_one_at_the_reference_edge() -> None:
    case, _ = compiled(OneEdge().text)
    assert case.edges["severity"][0, 0] == 1.0  # by definition: bare steel arris of 1 mm


def test_a_world_with_a_steeper_radius_exponent_spares_round_edges() -> None:
    case, tape = compiled(OneEdge(radius_mm=4.0).text)
    values = {"wear/radius exponent": np.array([0.5, 1.0])}
    severity = case.batch(tape, values, 2).edges["severity"][:, 0, 0]
    assert severity == pytest.approx([4.0**-0.5, 4.0**-1.0], rel=1e-12)


def test_a_rope_that_turns_lasts_longer_in_proportion() -> None:
    case, tape = compiled(OneEdge().text)
    values = {"wear/rotation": np.array([1.1, 1.21])}
    sheath = case.batch(tape, values, 2).wear["sheath_j_m"][:, 0]
    assert sheath[1] / sheath[0] == pytest.approx(1.1, rel=1e-12)
