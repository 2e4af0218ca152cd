"""Temperature of the moving contact; an output and a mark, not a weight of the wear law."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import isnan, nan

import numpy as np
from numpy.typing import NDArray

from edgewear.case import Case, Records
from edgewear.engine.player import AtEdge, Change, Player
from edgewear.engine.results.heat_source import moving_band_c, standing_band_c
from edgewear.mechanics import Buffers

AMBIENT_C = 20.0
"""Temperature of rope and edge before a stroke [degC]; assumed."""

STILL_M_S = 1e-6
"""A contact slower than this makes no heat worth a number [m/s]."""


LEAST_CONTACT = 0.05
"""Shortest contact with a temperature, in rope diameters: about a yarn of the sheath; assumed.

A rope is not bent more sharply than its yarns are thick; over less than that the heat of friction
is spread by the stiffness of the rope, which this model does not have.
"""


def contact_temperature_c(player: Player, row: int, buffers: Buffers) -> NDArray[np.float64]:
    """Highest temperature at each edge of a section during its hottest slip.

    Over each thing that lay there in turn, and the hottest of these.

    The heat of friction is spread over the contact: the width share of the diameter wide, radius
    times bend long. The rope moves through it (Jaeger's moving band), the edge stands under it for
    as long as the largest travel of a stroke lasts at that speed. The heat divides so that both
    surfaces reach the same largest temperature (Blok's postulate, from memory).

    Parameters:
        player: at the end of a run.
        row: of the section.
        buffers: of a rope that lay in it; the sums of n edges.

    Returns:
        (n,) [degC]; ambient where nothing slid, NaN where each contact is too short for a figure,
        and of a case without temperatures.
    """
    case = player.case
    if case.heat is None or case.heat_of_conditions is None:
        return np.full(len(buffers.edges), nan)
    rises = []
    for edge in range(len(buffers.edges)):
        changes, first = player.changes_under(row, edge, buffers), case.heat[row, edge]
        spells = _spells(buffers, edge, changes, first, case.heat_of_conditions)
        wear, diameter_m = buffers.wear[0], float(buffers.line["diameter_m"][0])
        rises.append([rise_c(wear, diameter_m, met, heat) for met, heat in spells])
    known = [[rise for rise in some if not isnan(rise)] for some in rises]
    return AMBIENT_C + np.array(
        [max(hot, default=nan if some else 0.0) for hot, some in zip(known, rises, strict=True)]
    )


def _spells(
    buffers: Buffers, edge: int, changes: Sequence[Change], heat: np.void, then: Records
) -> Iterator[tuple[AtEdge, np.void]]:
    """Each thing that the rope slid over at an edge, and what heat meets there.

    Parameters: `heat`: of what lay there first; `then`: of each condition it may be changed to.
    """
    for change in changes:
        if change.before is not None and change.before.sums["flash_speed_m_s"] > STILL_M_S:
            yield change.before, heat
        heat = then[change.variant]
    if buffers.sums["flash_speed_m_s"][edge] > STILL_M_S:
        yield AtEdge(buffers.edges[edge], buffers.sums[edge]), heat


def contact_m(radius_m: float, wrap_rad: float, diameter_m: float) -> float:
    """Give the length of a contact; NaN where it is too short for a temperature.

    Parameters:
        radius_m: over which the rope is bent.
        wrap_rad: by how much.
        diameter_m: of the rope.
    """
    length_m = radius_m * wrap_rad
    return length_m if length_m >= LEAST_CONTACT * diameter_m else nan


def rise_c(wear: np.void, diameter_m: float, met: AtEdge, heat: np.void) -> float:
    """Warming [K] in the hottest slip over one thing; NaN where the contact is too short.

    Parameters:
        wear: WEAR record of the rope.
        diameter_m: of the rope.
        met: the edge as it was, and what happened there.
        heat: what heat meets there.
    """
    sums, lies = met.sums, met.edge
    seen_m = max(float(lies["radius_m"] + lies["thickness_m"]), float(lies["own_radius_m"]))
    radius_m = max(seen_m, float(wear["arc_share"]) * diameter_m)
    length_m = contact_m(radius_m, float(sums["flash_wrap_rad"]), diameter_m)
    if isnan(length_m):
        return nan
    speed_m_s = float(sums["flash_speed_m_s"])
    area_m2 = float(wear["width_share"]) * diameter_m * length_m
    flux = float(sums["flash_n"]) * speed_m_s / area_m2
    duration_s = max(float(sums["sawing_m"]), length_m) / speed_m_s
    half_m = 0.5 * length_m
    of_rope = (float(heat["rope_w_m_k"]), float(heat["rope_j_m3_k"]))
    of_edge = (float(heat["edge_w_m_k"]), float(heat["edge_j_m3_k"]))
    rope = moving_band_c(1.0, half_m, speed_m_s, *of_rope)
    edge = standing_band_c(1.0, half_m, duration_s, *of_edge)
    return flux * rope * edge / (rope + edge)


def heat_marks(case: Case, edges: Records) -> dict[tuple[str, int, str], str]:
    """Say of every contact that slid how hot it became, by line, rope and edge.

    Parameters:
        case: the option.
        edges: `records.EDGE` rows of a run.
    """
    if case.heat is None:
        return {}
    found: dict[tuple[str, int, str], str] = {}
    limits = {
        (line, edge): case.heat[row, column]
        for row, line in enumerate(case.line_names)
        for column, edge in enumerate(case.edge_names[row])
    }
    for one in edges:
        line, edge = str(one["line"]), str(one["edge"])
        if one["slip_m"] > 0.0 and (line, edge) in limits:
            softens_c, melts_c = (limits[line, edge][name] for name in ("softens_c", "melts_c"))
            told = heat_words(float(one["flash_temperature_c"]), float(softens_c), float(melts_c))
            found[line, int(one["rope"]), edge] = told
    return found


def heat_words(temperature_c: float, softens_c: float, melts_c: float) -> str:
    """Say how hot a contact became against the fibre's ranges.

    Parameters:
        temperature_c: of the contact; NaN where there is no figure.
        softens_c, melts_c: lower ends of the ranges in which the fibre softens and melts.
    """
    if isnan(temperature_c):
        return "the contact is too short for a temperature"
    if temperature_c >= melts_c:
        return f"contact {temperature_c:.0f} degC, in the melting range (from {melts_c:.0f} degC)"
    if temperature_c >= softens_c:
        return (
            f"contact {temperature_c:.0f} degC, in the softening range (from {softens_c:.0f} degC)"
        )
    return f"contact {temperature_c:.0f} degC, below the softening range"
