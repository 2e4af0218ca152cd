"""What each line of a run came to, and where it lay bare over an edge."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from edgewear import mechanics
from edgewear.engine.player import Piece, Player
from edgewear.layout import TICK_S
from edgewear.rigging.findings.control import BARE_BELOW_DIAMETERS, judged_radius_m
from edgewear.scenario.models.scenario import Scenario


class First(NamedTuple):
    """The first time something became true on a line."""

    time_s: float
    step: int  # of the job, from 1
    ascended_m: float


class RopeOutcome(NamedTuple):
    """One of the ropes that lay in a section."""

    rope: int  # of the line, from 1
    sheath_demand_max: float
    core_loss: float
    residual_strength_n: float


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
    ropes: tuple[RopeOutcome, ...]  # in the order they lay there


class Bare(NamedTuple):
    """A line that carried load over an unprotected edge too small for it."""

    line: str
    edge: str
    from_s: float
    for_s: float


def line_outcomes(player: Player) -> list[LineOutcome]:
    """Read the outcome of every section that was used, in the order of the case.

    Of one whose rope was swapped, that of the rope that is worn most, and the first time and the
    largest force of any.
    """
    return [_outcome(player, row, ropes) for row, ropes in _ropes(player).items()]


def _ropes(player: Player) -> dict[int, list[Piece]]:
    """Section -> the ropes that lay in it, in the order they were used."""
    found: dict[int, list[Piece]] = {}
    for piece in player.pieces_in_order():
        found.setdefault(piece.row, []).append(piece)
    return found


def bare_edges(player: Player, scenario: Scenario) -> list[Bare]:
    """Find where a line that carried more than 200 N bent over a bare small edge, however little.

    Time under protection or a sling does not count. Where an edge is bare, covered and bare
    again, or under one rope after the other, it begins with the first of these times and lasts as
    long as all of them.
    """
    found = []
    for row, pieces in _ropes(player).items():
        ropes = [piece.buffers for piece in pieces]
        section = player.case.rigged.sections[row]
        small = BARE_BELOW_DIAMETERS * float(ropes[0].line["diameter_m"][0])
        for edge, met in enumerate(section.edges):
            if met.kind == "edge" and judged_radius_m(scenario, met.name) < small:
                spells = [spell for rope in ropes for spell in _bare(player, row, edge, rope)]
                if spells:
                    lasted = sum(ticks for _, ticks in spells)
                    start_s, for_s = spells[0][0] * TICK_S, lasted * TICK_S
                    found.append(Bare(section.line, met.name, start_s, for_s))
    return found


def _bare(
    player: Player, row: int, edge: int, rope: mechanics.Buffers
) -> Iterator[tuple[int, int]]:
    """Spells in which an edge was loaded with nothing on it (first tick, ticks loaded)."""
    sums, case = rope.sums[edge], player.case
    cover, since, before = case.rigged.sections[row].edges[edge].protection, 0, 0
    for change in player.changes_under(row, edge, rope):
        if cover is None and change.loaded_ticks > before:
            yield max(since, int(sums["bare_tick"])), change.loaded_ticks - before
        cover = case.conditions[change.variant][2]
        since, before = change.tick, change.loaded_ticks
    if cover is None and sums["bare_ticks"] > before:
        yield max(since, int(sums["bare_tick"])), int(sums["bare_ticks"]) - before


def _outcome(player: Player, row: int, pieces: Sequence[Piece]) -> LineOutcome:
    ropes, each = [piece.buffers for piece in pieces], tuple(map(_rope, pieces))
    worst = max(each, key=lambda rope: rope.sheath_demand_max)
    sliding, stuck = mechanics.frequencies(ropes[-1])
    if not np.isfinite(sliding):
        sliding, stuck = player.frequencies_hz
    return LineOutcome(
        name=player.case.line_names[row],
        role=player.case.rigged.sections[row].role,
        peak_tension_n=_largest(ropes, "peak_n"),
        anchor_peak_n=_largest(ropes, "anchor_peak_n"),
        stretch_m=_largest(ropes, "stretch_m"),
        sliding_hz=sliding,
        stuck_hz=stuck,
        sheath_demand_max=worst.sheath_demand_max,
        core_visible=_first(ropes, "core", player.core_step.get(row, 0)),
        core_loss=worst.core_loss,
        residual_strength_n=worst.residual_strength_n,
        parted=_first(ropes, "parted", player.parted_step.get(row, 0)),
        ropes=each,
    )


def _rope(piece: Piece) -> RopeOutcome:
    rope = piece.buffers
    demand = float(mechanics.worst(rope)[0] / rope.wear["sheath_j_m"][0])
    return RopeOutcome(piece.rope, demand, *mechanics.strength(rope))


def _largest(ropes: Sequence[mechanics.Buffers], field: str) -> float:
    return max(float(rope.state[field][0]) for rope in ropes)


def _first(ropes: Sequence[mechanics.Buffers], what: str, step: int) -> First | None:
    """The first time on any of some ropes; `step`: that in which it was."""
    states = [rope.state[0] for rope in ropes if rope.state[f"{what}_tick"][0] >= 0]
    if not states:
        return None
    state = min(states, key=lambda one: int(one[f"{what}_tick"]))
    return First(int(state[f"{what}_tick"]) * TICK_S, step, float(state[f"{what}_ascended_m"]))
