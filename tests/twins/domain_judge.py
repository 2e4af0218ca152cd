"""A slow, plain judge of one run's inputs: what of them lies outside the observations.

It reads the scenario with the run's values typed, lays each line anew and asks one plain question
after the other; ranges and words are written down here once more.
"""

from __future__ import annotations

from math import degrees, isfinite

from edgewear.rigging import rig
from edgewear.rigging.laying import lay

BEND_DEG = (15.0, 60.0)
SETBACK_M = (10.0, 40.0)
RADIUS_MM = (0.75, 2.0)
DIAMETER_MM = (9.0, 11.0)
MASS_KG = (70.0, 110.0)
LOADED_DEG = 2.0
MOVES = ("descend", "work", "swing", "haul", "lower", "reciprocate")


def outside(value, ends):
    """Whether a number lies outside, rounding aside."""
    slack = 1e-9 * max(map(abs, ends))
    return value < ends[0] - slack or value > ends[1] + slack


def judged(scenario, option, surfaces):
    """Addresses outside the domain, each once, in the order in which a reader meets them."""
    chosen, rigged, found = scenario.options[option], rig(scenario, option), []
    for section in rigged.sections:
        if section.role != "working line":
            continue
        found += edges_of(scenario, section, rigged, surfaces)
        rope = scenario.ropes[section.rope]
        base = f"ropes/{section.rope}"
        if outside(rope.diameter.value * 1e3, DIAMETER_MM):
            found.append(f"{base}/diameter")
        if rope.family != "low-stretch":
            found.append(f"{base}/family")
        if rope.sheath.name not in ("polyamide", "reinforced"):
            found.append(f"{base}/sheath")
        if rope.condition != "new":
            found.append(f"{base}/condition")
    for name, person in chosen.people.items():
        if outside(person.mass.value, MASS_KG):
            found.append(f"people/{name}/mass")
    for name, steps in scenario.job.items():
        found += [f"job/{name}/{word}" for word in words(steps) if word in MOVES]
    return ", ".join(dict.fromkeys(found))


def edges_of(scenario, section, rigged, surfaces):
    """Of the edges that a working line bends over where it is first used."""
    begins = rigged.starts_m.get(section.person, rigged.start_depth_m)
    depth_m = max(section.top_m, begins)
    if not isfinite(depth_m):
        return []
    laid, found = lay(section, depth_m), []
    for place, index in enumerate(laid.edges):
        met, bend = section.edges[index], degrees(laid.bends_rad[place])
        if met.kind != "edge" or bend < LOADED_DEG:
            continue
        if outside(bend, BEND_DEG):
            found.append(f"edges/{met.name}/bend")
        if outside(sum(laid.free_m[: place + 1]), SETBACK_M):
            found.append(f"edges/{met.name}/setback")
        if met.protection is not None:
            found.append(f"protect/{met.name}")
            continue
        edge = scenario.edges[met.name]
        if outside(edge.radius.value * 1e3, RADIUS_MM):
            found.append(f"edges/{met.name}/radius")
        if edge.surface.name != "steel" and edge.surface.name in surfaces:
            found.append(f"edges/{met.name}/surface")
        if edge.state != "dry":
            found.append(f"edges/{met.name}/state")
        if edge.condition != "sound":
            found.append(f"edges/{met.name}/condition")
    return found


def words(steps):
    """Words of steps, those inside a repeat too."""
    for step in steps:
        if step.step == "repeat":
            yield from words(step.steps)
        else:
            yield step.step
