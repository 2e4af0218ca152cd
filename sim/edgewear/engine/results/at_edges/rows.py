"""The writer of EDGE rows: one for runs played alone and for those played many at a time."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from edgewear.case import Case, Records
from edgewear.engine.results.run_rows import FirstTimes, write_moment
from edgewear.percentiles import HIGH, LOW, MIDDLE, between
from edgewear.records import EDGE, numpy_dtype

EDGE_DTYPE = numpy_dtype(EDGE)
MARK_QUANTILES = (LOW, MIDDLE, HIGH)
SUMMED = (
    ("slips", "slips"),
    ("slip_m", "slip_m"),
    ("energy_j", "energy_j"),
    ("sawing_amplitude_m", "sawing_m"),
    ("strokes", "strokes"),
    ("strokes_stuck", "strokes_stuck"),
    ("peak_tension_n", "peak_n"),
)
"""Columns, and the sums that they are."""


class EdgeFigures(NamedTuple):
    """What happened at each of n edges that a rope lay over."""

    sums: Records  # SUMS (n,)
    sheath_j_m: ArrayLike  # (n,) or one for all: what the rope's sheath bears
    demand: NDArray[np.float64]  # (n,) largest sheath demand from the edge alone
    mark_travel_m: NDArray[np.float64]  # (3, n) MARK_QUANTILES of the travel of a mark
    cover_energy_j: ArrayLike  # (n,)
    cover_slip_m: ArrayLike  # (n,)
    flash_temperature_c: ArrayLike  # (n,)


def edge_rows(case: Case, row: int, rope: int, at: EdgeFigures) -> Records:
    """EDGE (n,) of a section's edges, of as many runs as there are; numbers of runs not filled in.

    Parameters:
        case: the option.
        row: of the section.
        rope: which of those that lay there, from 1.
        at: edge by edge, run by run.
    """
    rows, names = np.zeros(len(at.sums), EDGE_DTYPE), np.array(case.edge_names[row], object)
    rows["line"], rows["rope"] = case.line_names[row], rope
    rows["edge"] = np.tile(names, len(rows) // max(len(names), 1))
    rows["wrap_deg"] = np.rad2deg(at.sums["wrap_rad"])
    for column, source in SUMMED:
        rows[column] = at.sums[source]
    for name, values in zip(("p5", "p50", "p95"), at.mark_travel_m, strict=True):
        rows[f"mark_travel_{name}_m"] = values
    rows["demand_max"] = at.demand
    rows["sideways_m"] = at.sums["lateral_m"]
    sideways = at.sums["lateral_j_m"] / at.sheath_j_m
    rows["sideways_demand"] = np.minimum(sideways, rows["demand_max"])
    for third, what in enumerate(("third_worn", "two_thirds_worn", "core_visible")):
        when = FirstTimes(at.sums["worn_tick"][:, third], at.sums["worn_ascended_m"][:, third])
        write_moment(rows, what, when)
    rows["cover_energy_j"], rows["cover_slip_m"] = at.cover_energy_j, at.cover_slip_m
    rows["bypassed_demand"] = np.nan
    rows["flash_temperature_c"] = at.flash_temperature_c
    return rows


def mark_travel(travels: NDArray[np.float64]) -> NDArray[np.float64]:
    """Quantiles over the strokes made while loaded over each edge, (3, n) [m]; 0: none kept.

    Parameters:
        travels: (n, k) of a mark, NaN where a stroke did not load the edge.
    """
    found = np.zeros((3, len(travels)))
    for edge, strokes in enumerate(travels):
        touched = strokes[~np.isnan(strokes)]
        if len(touched):
            found[:, edge] = between(touched, MARK_QUANTILES, 0)
    return found
