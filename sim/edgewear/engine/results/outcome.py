"""What a run came to: the columns of `records`, read out of the lines at play."""

from __future__ import annotations

from collections.abc import Mapping
from math import nan
from typing import NamedTuple

import numpy as np

from edgewear import mechanics
from edgewear.case import Records
from edgewear.engine.player import Piece, Player
from edgewear.engine.results.at_edges.rows import EDGE_DTYPE, EdgeFigures, mark_travel
from edgewear.engine.results.at_edges.rows import edge_rows as rows_at_edges
from edgewear.engine.results.cover_use import cover_use
from edgewear.engine.results.heat import contact_temperature_c
from edgewear.engine.results.run_rows import FirstTimes, RunFigures, run_rows


class RunOutcome(NamedTuple):
    """One run: RUN (1,) and EDGE (n,) rows; the run number is the caller's to fill in."""

    run: Records
    edges: Records


class Worst(NamedTuple):
    """The most worn place of the working lines."""

    demand: float
    row: int
    edge: str


def outcome(player: Player, ticks: int) -> RunOutcome:
    """Read the outcome of the run that was played last; `ticks` is how long it took."""
    return RunOutcome(run_row(player, ticks), edge_rows(player))


def run_row(player: Player, ticks: int) -> Records:
    """RUN (1,) of the run that was played last, without what each edge did."""
    place, case = worst_place(player), player.case
    sliding_hz, stuck_hz = player.frequencies_hz
    figures = RunFigures(
        **_wear(player),
        **_loads(player),
        demand=place.demand,
        anchor_peak_name=_hardest_anchor(player),
        worst_line=case.line_names[place.row] if place.row >= 0 else "",
        worst_edge=place.edge,
        core_visible=_first(player, "core", player.core_step),
        parted=_first(player, "parted", player.parted_step),
        third_worn=_worn(player, 0),
        two_thirds_worn=_worn(player, 1),
        frequency_sliding_hz=sliding_hz,
        frequency_stuck_hz=stuck_hz,
        strokes=int(player.strokes.sum()),
        climbing_ticks=sum(int(p.buffers.state["climbing_ticks"][0]) for p in player.pieces()),
        ascended_m=player.ascended_m.sum(),
        ticks=ticks,
        used_up_step=min(player.used_up_step.values(), default=0),
    )
    return run_rows(figures, 1, case.extrapolated)


def working_pieces(player: Player) -> list[Piece]:
    """Every piece of rope of the working lines that was used."""
    return [piece for piece in player.pieces() if player.case.lines[piece.row]["role"] == 0]


def _wear(player: Player) -> dict[str, float]:
    """Of the working lines: what the core lost at most, and the least strength that is left."""
    found = [mechanics.strength(piece.buffers) for piece in working_pieces(player)]
    return {
        "core_loss": max([0.0, *(loss for loss, _ in found)]),
        "residual_strength_n": min((strength for _, strength in found), default=nan),
    }


def worst_place(player: Player) -> Worst:
    """The largest sheath demand along any working line, and which edge wore it most."""
    found = Worst(0.0, -1, "")
    for row, _, buffers in working_pieces(player):
        largest, _, edge = mechanics.worst(buffers)
        demand = float(largest / buffers.wear["sheath_j_m"][0])
        if demand > found.demand or found.row < 0:
            name = player.case.edge_names[row][edge] if edge >= 0 else ""
            found = Worst(demand, row, name)
    return found


def _loads(player: Player) -> dict[str, float]:
    """Largest loads of the working lines, what slid over their edges, and the worst residual."""
    pieces = [piece.buffers for piece in working_pieces(player)]
    residuals = [float(mechanics.residual(piece.buffers)) for piece in player.pieces()]
    return {
        "peak_tension_n": _largest(pieces, "peak_n"),
        "anchor_peak_n": _largest(pieces, "anchor_peak_n"),
        "stretch_m": _largest(pieces, "stretch_m"),
        "slip_m": sum(float(buffers.sums["slip_m"].sum()) for buffers in pieces),
        "energy_j": sum(float(buffers.sums["energy_j"].sum()) for buffers in pieces),
        "energy_residual": max(residuals, default=0.0),
    }


def _hardest_anchor(player: Player) -> str:
    """The fixed point of the working lines that bore the largest tension."""
    sections = player.case.rigged.sections
    peaks = [
        (float(buffers.state[0]["anchor_peak_n"]), sections[row].anchor)
        for row, _, buffers in working_pieces(player)
    ]
    return max(peaks, key=lambda found: found[0], default=(0.0, ""))[1]


def _largest(pieces: list[mechanics.Buffers], field: str) -> float:
    return max((float(buffers.state[0][field]) for buffers in pieces), default=0.0)


def _first(player: Player, field: str, steps: Mapping[int, int]) -> FirstTimes:
    """The first time a core showed or a line parted, over all working lines."""
    when = [
        (int(buffers.state[f"{field}_tick"][0]), row, buffers.state[0])
        for row, _, buffers in working_pieces(player)
        if row in steps and buffers.state[f"{field}_tick"][0] >= 0
    ]
    if not when:
        return FirstTimes(-1, nan, 0)
    tick, row, state = min(when, key=lambda found: found[:2])
    return FirstTimes(tick, float(state[f"{field}_ascended_m"]), steps[row])


def _worn(player: Player, third: int) -> FirstTimes:
    """The first time so many thirds of the sheath were worn, over all working lines."""
    states = [piece.buffers.state[0] for piece in working_pieces(player)]
    when = [(int(s["worn_tick"][third]), float(s["worn_ascended_m"][third])) for s in states]
    return FirstTimes(*min((found for found in when if found[0] >= 0), default=(-1, nan)))


def edge_rows(player: Player) -> Records:
    """EDGE rows of every line used, rope by rope, edges in the order the line meets them."""
    blocks = [_edges_of(player, *piece) for piece in player.pieces_in_order()]
    return np.concatenate(blocks) if blocks else np.zeros(0, EDGE_DTYPE)


def _edges_of(player: Player, row: int, rope: int, buffers: mechanics.Buffers) -> Records:
    kept = min(int(buffers.state["travels"][0]), buffers.travel.shape[1])
    edges, used = len(buffers.edges), cover_use(player, row, buffers)
    at = EdgeFigures(
        sums=buffers.sums[:edges],
        sheath_j_m=float(buffers.wear["sheath_j_m"][0]),
        demand=mechanics.demand_by_edge(buffers),
        mark_travel_m=mark_travel(buffers.travel[:edges, :kept]),
        cover_energy_j=used.energy_j,
        cover_slip_m=used.slip_m,
        flash_temperature_c=contact_temperature_c(player, row, buffers),
    )
    return rows_at_edges(player.case, row, rope, at)
