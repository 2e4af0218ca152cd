"""What a rope that is swapped out went through stays its own, whatever is placed or taken off.

All up to the swap is one course, so each figure of that rope is that of a job that ends there.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from edgewear.case import Records, compile_case
from edgewear.engine.results.outcome import edge_rows
from edgewear.engine.run_job import perform
from edgewear.scenario import load_text
from edgewear.study.single import simulate
from edgewear.terms import LINE_LOST
from engine.test_heat_of_covers import CLIMB, OFF, ON, SITES, TEXT

SWAP = "swap rope"
BEFORE = [(CLIMB,), (CLIMB, OFF), (CLIMB, OFF, CLIMB), (OFF, CLIMB)]
AFTER = [(), (CLIMB,), ("descend: 4 m", CLIMB)]


def ropes_of(site: tuple[str, str, str], cover: str, *steps: str) -> Records:
    """EDGE (ropes,): what each rope of the line did at the edge, in the order they were used."""
    radius, surface, bend = site
    job = "".join(f"  - {step}\n" for step in steps)
    rig = f"protect: {{arris: {cover}}},"
    text = TEXT.format(radius=radius, surface=surface, bend=bend, rig=rig, job=job)
    scenario = load_text(text, "swapped")
    return edge_rows(perform(scenario, compile_case(scenario, "one")).player)


@pytest.mark.parametrize("site", SITES)
@pytest.mark.parametrize("before", BEFORE)
@pytest.mark.parametrize("after", AFTER)
def test_what_comes_after_a_swap_changes_nothing_of_the_rope_before_it(site, before, after) -> None:
    [alone] = ropes_of(site, "pad", *before)
    changed = () if OFF in before else (OFF,)
    for then in ((), changed):
        first, *_ = ropes_of(site, "pad", *before, SWAP, *then, *after)
        for name in ("flash_temperature_c", "cover_energy_j", "cover_slip_m", "slip_m"):
            np.testing.assert_equal(first[name], alone[name], err_msg=name)  # nan: none, in both


@pytest.mark.parametrize("site", SITES)
def test_a_fresh_rope_has_nothing_of_what_the_one_before_it_went_through(site) -> None:
    """Of the same kind, and where it lies over nothing but the bare edge: no cover was used."""
    first, fresh = ropes_of(site, "pad", CLIMB, OFF, SWAP, CLIMB)
    assert fresh["cover_energy_j"] == fresh["cover_slip_m"] == 0.0
    assert first["cover_energy_j"] > 0.0
    _, covered = ropes_of(site, "pad", CLIMB, OFF, SWAP, ON, CLIMB)
    assert covered["cover_slip_m"] == covered["slip_m"]


LOST = """\
edgewear: 1
title: a rope that is swapped when it is worn
setting: test
edges: {{arris: {{radius: {radius}, surface: concrete}}}}
ropes: {{rope: {{like: low-stretch 11, length: 60 m, stopper: yes}}}}
people: {{ann: {{mass: 95 kg, technique: jerky, system: pre-threaded, start: 30 m}}}}
options: {{one: {{rope: rope, over: [{{edge: arris, after: 15 m, bend: {bend}}}]}}}}
job: [{{ascend: {up} m}}{swap}]
"""


def told(radius: str, bend: str, up: int, swap: str) -> tuple[dict[str, Any], set[str]]:
    """What a run says of its line, and what stands against it."""
    text = LOST.format(radius=radius, bend=bend, up=up, swap=swap)
    document = simulate(load_text(text, "lost"))
    [line] = document["lines"]
    bare = {"from_s": None, "for_s": None, **next(iter(document["bare_edge"]), {})}
    return {**line, **{key: bare[key] for key in ("from_s", "for_s")}}, set(document["status"])


@pytest.mark.parametrize(("radius", "bend"), [("2 mm", "70 deg"), ("5 mm", "40 deg")])
@pytest.mark.parametrize("up", [5, 8, 12])
@pytest.mark.parametrize("further", ["", ", {rest: 1 min}"])
def test_a_run_says_of_a_line_what_its_worst_rope_came_to(radius, bend, up, further) -> None:
    """As in a comparison: a fresh rope, which rest hardly wears, makes no lost line whole."""
    alone, against = told(radius, bend, up, "")
    line, status = told(radius, bend, up, f", swap rope{further}")
    kept = ("sheath_margin", "sheath_demand_max", "core_visible", "core_loss", "parted",
            "residual_strength_n", "from_s")  # fmt: skip
    assert {key: line[key] for key in kept} == {key: alone[key] for key in kept}
    assert (LINE_LOST in status) == (LINE_LOST in against) == (alone["sheath_demand_max"] >= 1.0)
    for key in ("peak_tension_n", "anchor_peak_n", "stretch_m", "for_s"):
        assert line[key] >= alone[key]
    heat = {edge["rope"]: edge["heat"] for edge in line["edges"]}
    assert heat[1] == alone["edges"][0]["heat"]  # its own; of the fresh one what that went through
