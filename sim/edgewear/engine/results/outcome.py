"""What a run came to: the columns of `records`, read out of the lines at play."""

from __future__ import annotations

from math import nan
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear import mechanics
from edgewear.case import Records
from edgewear.engine.player import Player
from edgewear.engine.results.heat import contact_temperature_c
from edgewear.layout import TICK_S
from edgewear.records import EDGE, RUN, numpy_dtype

RUN_DTYPE = numpy_dtype(RUN)
EDGE_DTYPE = numpy_dtype(EDGE)
MARK_QUANTILES = (0.05, 0.5, 0.95)


class Outcome(NamedTuple):
    """One run: RUN (1,) and EDGE (n,) rows; the run number is the caller's to fill in."""

    run: Records
    edges: Records


class Worst(NamedTuple):
    """The most worn place of the working lines."""

    demand: float
    row: int
    edge: str


def outcome(player: Player, ticks: int) -> Outcome:
    """Read the outcome of the run that was played last; `ticks` is how long it took."""
    return Outcome(run_row(player, ticks), edge_rows(player))


def run_row(player: Player, ticks: int) -> Records:
    """RUN (1,) of the run that was played last, without what each edge did."""
    record = np.zeros(1, RUN_DTYPE)
    _write_wear(player, record)
    _write_loads(player, record)
    _write_firsts(player, record)
    record["status"], record["reason"] = "ok", ""
    record["extrapolated"] = ", ".join(player.case.extrapolated)
    record["duration_s"] = ticks * TICK_S
    record["ascended_m"] = player.ascended_m.sum()
    _write_strokes(player, record)
    return record


Piece = tuple[int, mechanics.Buffers]
"""A section, and the rope that lay in it."""


def working_pieces(player: Player) -> list[Piece]:
    """Sections of working lines that were used, with each rope that lay in them."""
    return [piece for piece in player.pieces() if player.case.lines[piece[0]]["role"] == 0]


def _write_wear(player: Player, record: Records) -> None:
    place, losses, strengths = worst_place(player), [0.0], []
    for _, buffers in working_pieces(player):
        loss, strength = mechanics.strength(buffers)
        losses.append(loss)
        strengths.append(strength)
    record["sheath_margin"], record["sheath_demand_max"] = 1.0 - place.demand, place.demand
    record["worst_line"] = player.case.line_names[place.row] if place.row >= 0 else ""
    record["worst_edge"] = place.edge
    record["core_loss"] = max(losses)
    record["residual_strength_n"] = min(strengths, default=nan)


def worst_place(player: Player) -> Worst:
    """The largest sheath demand along any working line, and which edge wore it most."""
    found = Worst(0.0, -1, "")
    for row, buffers in working_pieces(player):
        largest, _, edge = mechanics.worst(buffers)
        demand = float(largest / buffers.wear["sheath_j_m"][0])
        if demand > found.demand or found.row < 0:
            name = player.case.edge_names[row][edge] if edge >= 0 else ""
            found = Worst(demand, row, name)
    return found


def _write_loads(player: Player, record: Records) -> None:
    pieces = working_pieces(player)
    states = [buffers.state[0] for _, buffers in pieces]
    for field, source in (
        ("peak_tension_n", "peak_n"),
        ("anchor_peak_n", "anchor_peak_n"),
        ("stretch_m", "stretch_m"),
    ):
        record[field] = max((float(s[source]) for s in states), default=0.0)
    sums = [buffers.sums for _, buffers in pieces]
    record["slip_m"] = sum(float(s["slip_m"].sum()) for s in sums)
    record["energy_j"] = sum(float(s["energy_j"].sum()) for s in sums)
    residuals = [float(mechanics.residual(buffers)) for _, buffers in player.pieces()]
    record["energy_residual"] = max(residuals, default=0.0)
    sliding, stuck = player.frequencies_hz
    record["frequency_sliding_hz"], record["frequency_stuck_hz"] = sliding, stuck


def _write_firsts(player: Player, record: Records) -> None:
    """First times at which a core showed or a line parted, over all working lines."""
    for what, field, steps in (
        ("core_visible", "core", player.core_step),
        ("parted", "parted", player.parted_step),
    ):
        when = [
            (int(buffers.state[f"{field}_tick"][0]), row, buffers.state[0])
            for row, buffers in working_pieces(player)
            if row in steps and buffers.state[f"{field}_tick"][0] >= 0
        ]
        none: tuple[int, int, Any] = (-1, -1, None)
        tick, row, state = min(when, key=lambda found: found[:2], default=none)
        seen = row >= 0
        record[f"{what}_time_s"] = tick * TICK_S if seen else nan
        record[f"{what}_ascended_m"] = state[f"{field}_ascended_m"] if seen else nan
        record[f"{what}_step"] = steps[row] if seen else 0


def _write_strokes(player: Player, record: Records) -> None:
    strokes = int(player.strokes.sum())
    climbing = sum(int(buffers.state["climbing_ticks"][0]) for _, buffers in player.pieces())
    record["strokes"] = strokes
    record["stroke_hz"] = strokes / (climbing * TICK_S) if climbing else nan


def edge_rows(player: Player) -> Records:
    """EDGE rows of every line used, edges in the order the line meets them."""
    pieces = sorted(player.pieces(), key=lambda piece: piece[0])
    blocks = [_edges_of(player, *piece) for piece in pieces]
    return np.concatenate(blocks) if blocks else np.zeros(0, EDGE_DTYPE)


def _edges_of(player: Player, row: int, buffers: mechanics.Buffers) -> Records:
    sums, rows = buffers.sums, np.zeros(len(buffers.sums), EDGE_DTYPE)
    rows["line"] = player.case.line_names[row]
    rows["edge"] = list(player.case.edge_names[row])
    rows["wrap_deg"] = np.rad2deg(sums["wrap_rad"])
    for column, source in (
        ("slips", "slips"),
        ("slip_m", "slip_m"),
        ("energy_j", "energy_j"),
        ("sawing_amplitude_m", "sawing_m"),
        ("strokes", "strokes"),
        ("strokes_stuck", "strokes_stuck"),
        ("peak_tension_n", "peak_n"),
    ):
        rows[column] = sums[source]
    for column, values in zip(
        ("mark_travel_p5_m", "mark_travel_p50_m", "mark_travel_p95_m"),
        _mark_travel(buffers),
        strict=True,
    ):
        rows[column] = values
    rows["demand_max"] = mechanics.demand_by_edge(buffers)
    heat = player.case.heat
    rows["flash_temperature_c"] = nan if heat is None else contact_temperature_c(buffers, heat[row])
    return rows


def _mark_travel(buffers: mechanics.Buffers) -> NDArray[np.float64]:
    """Quantiles over the strokes made while loaded over each edge, (3, n) [m]; 0: none kept."""
    kept = min(int(buffers.state["travels"][0]), buffers.travel.shape[1])
    found = np.zeros((3, len(buffers.sums)))
    for edge, travels in enumerate(buffers.travel[:, :kept]):
        touched = travels[~np.isnan(travels)]
        if len(touched):
            found[:, edge] = np.quantile(touched, MARK_QUANTILES)
    return found
