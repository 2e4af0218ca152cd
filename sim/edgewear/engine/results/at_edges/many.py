"""What happened at the edges of runs that were played many at a time."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from edgewear.case import Case, Records
from edgewear.engine.player import AtEdge
from edgewear.engine.results.at_edges.rows import EdgeFigures, edge_rows, mark_travel
from edgewear.engine.results.heat import AMBIENT_C, STILL_M_S, rise_c
from edgewear.mechanics import Many


def edge_rows_of_many(
    case: Case, row: int, lines: Records, edges: Records, wears: Records, many: Many
) -> Records:
    """EDGE (n*e,) of n runs over the e edges of a section, as `outcome.edge_rows` gives them.

    Nothing is put on or taken off an edge in such runs, and no sling keeps it from the rope.

    Parameters:
        case: the option.
        row: of the section.
        lines, wears: LINE and WEAR (n,); edges: EDGE (n, e), as they were played.
        many: what came out.
    """
    count, size = many.sums.shape
    sums, sheath_j_m = many.sums.reshape(-1), np.repeat(wears["sheath_j_m"], size)
    covered = np.array([met.protection is not None for met in case.rigged.sections[row].edges])
    under = np.tile(covered, count)
    at = EdgeFigures(
        sums=sums,
        sheath_j_m=sheath_j_m,
        demand=many.edge_largest_j_m.reshape(-1) / sheath_j_m,
        mark_travel_m=_travel(many),
        cover_energy_j=np.where(under, sums["energy_j"], np.nan),
        cover_slip_m=np.where(under, sums["slip_m"], np.nan),
        flash_temperature_c=_temperatures_c(case, row, lines, edges, wears, many),
    )
    found = edge_rows(case, row, 1, at)
    found["run"] = np.repeat(np.arange(count), size)
    return found


def _travel(many: Many) -> NDArray[np.float64]:
    """(3, n*e) quantiles of the travel of a mark."""
    kept = np.minimum(many.state["travels"], many.travel.shape[2]).tolist()
    each = [mark_travel(travels[:, :few]) for travels, few in zip(many.travel, kept, strict=True)]
    return np.concatenate(each, axis=1)


def _temperatures_c(
    case: Case, row: int, lines: Records, edges: Records, wears: Records, many: Many
) -> NDArray[np.float64]:
    """(n*e,) as `heat.contact_temperature_c`."""
    count, size = many.sums.shape
    if case.heat is None or case.heat_of_conditions is None:
        return np.full(count * size, np.nan)
    rises = np.zeros((count, size))
    slid = many.sums["flash_speed_m_s"] > STILL_M_S
    diameters_m = lines["diameter_m"].tolist()
    for run, edge in zip(*(where.tolist() for where in np.nonzero(slid)), strict=True):
        met = AtEdge(edges[run, edge], many.sums[run, edge])
        rises[run, edge] = rise_c(wears[run], diameters_m[run], met, case.heat[row, edge])
    return AMBIENT_C + rises.reshape(-1)
