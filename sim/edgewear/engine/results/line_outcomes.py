"""What each line of a run came to, and where it lay bare over an edge."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from edgewear import mechanics
from edgewear.engine.player import Player
from edgewear.layout import TICK_S
from edgewear.rigging.findings.control import BARE_BELOW_DIAMETERS, judged_radius_m
from edgewear.scenario.models.scenario import Scenario


class First(NamedTuple):
    """The first time something became true on a line."""

    time_s: float
    step: int  # of the job, from 1
    ascended_m: float


class LineOutcome(NamedTuple):
    """One section of a line after a run."""

    name: str
    role: str
    peak_tension_n: float
    anchor_peak_n: float
    stretch_m: float
    sliding_hz: float  # NaN: not loaded at the end
    stuck_hz: float
    sheath_demand_max: float
    core_visible: First | None
    core_loss: float
    residual_strength_n: float
    parted: First | None


class Bare(NamedTuple):
    """A line that carried load over an unprotected edge too small for it."""

    line: str
    edge: str
    from_s: float
    for_s: float


def line_outcomes(player: Player) -> list[LineOutcome]:
    """Read the outcome of every section that was used, in the order of the case."""
    return [_outcome(player, row) for row in sorted(player.in_use)]


def bare_edges(player: Player, scenario: Scenario) -> list[Bare]:
    """Find where a line that carried more than 200 N bent over a bare small edge, however little.

    Time under protection or a sling does not count. Where an edge is bare, covered and bare
    again, it begins with the first of these times and lasts as long as all of them.
    """
    found = []
    for row in sorted(player.in_use):
        buffers, section = player.buffers(row), player.case.rigged.sections[row]
        small = BARE_BELOW_DIAMETERS * float(buffers.line["diameter_m"][0])
        for edge, met in enumerate(section.edges):
            if met.kind == "edge" and judged_radius_m(scenario, met.name) < small:
                spells = list(_bare(player, row, edge))
                if spells:
                    lasted = sum(ticks for _, ticks in spells)
                    start_s, for_s = spells[0][0] * TICK_S, lasted * TICK_S
                    found.append(Bare(section.line, met.name, start_s, for_s))
    return found


def _bare(player: Player, row: int, edge: int) -> Iterator[tuple[int, int]]:
    """Spells in which an edge was loaded with nothing on it (first tick, ticks loaded)."""
    sums, case = player.buffers(row).sums[edge], player.case
    cover, since, before = case.rigged.sections[row].edges[edge].protection, 0, 0
    for change in player.changes.get((row, edge), ()):
        if cover is None and change.loaded_ticks > before:
            yield max(since, int(sums["bare_tick"])), change.loaded_ticks - before
        cover = case.conditions[change.variant][2]
        since, before = change.tick, change.loaded_ticks
    if cover is None and sums["bare_ticks"] > before:
        yield max(since, int(sums["bare_tick"])), int(sums["bare_ticks"]) - before


def _outcome(player: Player, row: int) -> LineOutcome:
    buffers, state = player.buffers(row), player.state(row)[0]
    largest = mechanics.worst(buffers)[0]
    loss, strength = mechanics.strength(buffers)
    sliding, stuck = mechanics.frequencies(buffers)
    if not np.isfinite(sliding):
        sliding, stuck = player.frequencies_hz
    return LineOutcome(
        name=player.case.line_names[row],
        role=player.case.rigged.sections[row].role,
        peak_tension_n=float(state["peak_n"]),
        anchor_peak_n=float(state["anchor_peak_n"]),
        stretch_m=float(state["stretch_m"]),
        sliding_hz=sliding,
        stuck_hz=stuck,
        sheath_demand_max=float(largest / buffers.wear["sheath_j_m"][0]),
        core_visible=_first(player, row, "core"),
        core_loss=loss,
        residual_strength_n=strength,
        parted=_first(player, row, "parted"),
    )


def _first(player: Player, row: int, what: str) -> First | None:
    state = player.state(row)[0]
    tick = int(state[f"{what}_tick"])
    if tick < 0:
        return None
    steps = player.core_step if what == "core" else player.parted_step
    return First(tick * TICK_S, steps.get(row, 0), float(state[f"{what}_ascended_m"]))
