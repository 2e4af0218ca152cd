"""Ropes used in special ways: both lines loaded, swapped, bypassed, lowered from the top."""

from __future__ import annotations

import numpy as np

from edgewear.case import compile_case
from edgewear.engine.play import play
from edgewear.engine.player import Player
from edgewear.engine.results.outcome import outcome
from edgewear.engine.run_job import perform
from edgewear.scenario import load_text

SITE = """
edgewear: 1
title: one person, two lines, one edge
setting: industrial
anchors:
  post: {out: -6 m, up: 1 m, along: 0 m, kind: pair, releasable: yes}
  rail: {out: -6 m, up: 1 m, along: 1.5 m, kind: pair}
edges:
  lip: {out: 0.2 m, up: 0 m, radius: 3 mm, surface: steel}
ropes:
  store: {like: low-stretch 11, length: 60 m, stopper: yes}
people:
  ann: {mass: 100 kg, technique: normal, system: pre-threaded}
options:
  plain:
    anchor: post
    rope: store
    OPTION
    safety line: {anchor: rail, rope: store}
job: [STEPS]
"""


def run(steps: str, option: str = "attendant: edge attendant"):
    scenario = load_text(SITE.replace("STEPS", steps).replace("OPTION", option), "site.yaml")
    case = compile_case(scenario, "plain")
    done = perform(scenario, case)
    player = Player(case)
    assert play(player, case.batch(done.tape, {}, 1)) == done.ticks
    first, again = outcome(done.player, done.ticks), outcome(player, done.ticks)
    for column in ("demand_max", "slip_m", "peak_tension_n"):
        np.testing.assert_array_equal(first.edges[column], again.edges[column])
    return done, first


def peaks(found) -> dict[str, float]:
    return {str(e["line"]): float(e["peak_tension_n"]) for e in found.edges}


def test_both_lines_bear_half_when_both_are_loaded() -> None:
    steps = "cross edge: lip, descend: 5 m, work: 1 min"
    _, alone = run(steps)
    _, both = run(steps, "both lines loaded: yes")
    whole = peaks(alone)["working line"]
    for half in peaks(both).values():
        # a lighter load swings a little otherwise: within a tenth of one half
        assert abs(half / whole - 0.5) < 0.05
    assert set(peaks(both)) == {"working line", "safety line"}


def test_a_swapped_rope_begins_new_and_the_old_one_keeps_its_wear() -> None:
    work = "work: 5 min"
    _, once = run(f"cross edge: lip, descend: 5 m, {work}")
    _, swapped = run(f"cross edge: lip, descend: 5 m, {work}, swap rope: store, {work}")
    demands = [float(e["demand_max"]) for e in swapped.edges if e["line"] == "working line"]
    assert len(demands) == 2
    old, new = demands
    assert old == float(once.edges["demand_max"][0])  # the same movements, bit for bit
    assert 0.0 < new < 1.5 * old  # the fresh rope has seen one spell of work, too
    assert float(swapped.run["sheath_demand_max"][0]) == max(demands)


def test_a_bypass_sling_takes_the_wear_off_the_rope() -> None:
    steps = "cross edge: lip, descend: 5 m, FIX work: 5 min"
    option = "bypass: {lip: sling}"
    _, bare = run(steps.replace("FIX", ""))
    _, slung = run(steps.replace("FIX", "fix bypass sling: lip,"), option)
    _, rigged = run(steps.replace("FIX", ""), option)
    assert float(rigged.run["sheath_demand_max"][0]) == 0.0  # nobody fixes it: it was there before
    assert float(slung.run["sheath_demand_max"][0]) < float(bare.run["sheath_demand_max"][0])
    assert float(slung.run["slip_m"][0]) > 0.0  # the sling slides in its place


def test_lowering_from_the_top_drags_the_whole_rope_over_the_edge() -> None:
    _, down = run("cross edge: lip, descend: 2 m, {lower: {height: 8 m}}")
    _, own = run("cross edge: lip, descend: 2 m, descend: 8 m")
    assert float(down.run["slip_m"][0]) > 7.5  # nearly the 8 m that are let out at the anchor
    assert float(own.run["slip_m"][0]) < 1.0
