"""What each edge did to each line, summed up over the trials of an option."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from edgewear.dataset.ranking.inspection_plan import worn_at
from edgewear.dataset.ranking.model import EdgeSummary, Quantiles
from edgewear.dataset.ranking.statistics import quantile
from edgewear.geometry.catch import stop_travel_m
from edgewear.terms import FAILED, WORKING

Columns = dict[str, NDArray[Any]]

LEAST_SEEN_M, MOST_SEEN_M = 5e-3, 0.5
"""Travel of a mark that can be measured with a rule beside a working rope, and that can still be
followed within one stroke, which seldom lifts a person further; assumed [m]."""


def edge_summaries(
    edges: Columns,
    runs: Columns,
    rigged: Mapping[str, Any],
    careful: NDArray[np.bool_] | None = None,
    counts: NDArray[np.float64] | None = None,
    told: NDArray[np.bool_] | None = None,
) -> tuple[EdgeSummary, ...]:
    """Sum up the trials at every edge that a line met, in the order the lines meet them.

    Parameters:
        edges: columns of `records.EDGE` of one option.
        runs: columns of `records.RUN` of the same option.
        rigged: what rigging says of the option.
        careful: of the runs, those at the careful end; all if left out.
        counts: of the runs, how much each counts in the sheath left at the careful end. By them it
            is counted what an edge takes there, so that it never takes more than is gone; without
            them it is the middle of the careful runs.
        told: of the runs, those whose wear is told; all that could be computed if left out.
    """
    pairs = dict.fromkeys(zip(edges["line"].tolist(), edges["edge"].tolist(), strict=True))
    ok = np.isin(edges["run"], runs["run"][runs["status"] != FAILED if told is None else told])
    found = []
    for line, edge in pairs:
        here = ok & (edges["line"] == line) & (edges["edge"] == edge)
        if here.any():
            columns = {name: column[here] for name, column in edges.items()}
            worst = (runs["worst_line"] == line) & (runs["worst_edge"] == edge)
            at_end = np.ones(worst.size, bool) if careful is None else careful
            decides = np.isin(columns["run"], runs["run"][at_end])
            summary = _summary(line, edge, columns, float(worst.mean()), rigged)
            demand, sideways = (
                _number(columns[name][decides])
                if counts is None
                else _counted(columns, runs, counts, name)
                for name in ("demand_max", "sideways_demand")
            )
            found.append(
                replace(
                    summary,
                    demand_careful=demand or 0.0,
                    sideways_careful=sideways,
                    worst_share_careful=float(worst[at_end].mean()) if at_end.any() else 0.0,
                )
            )
    return tuple(found)


def melting(
    edges: Sequence[EdgeSummary], rigged: Mapping[str, Any], melts_c: Mapping[str, float]
) -> tuple[str, ...]:
    """Name the edges where most trials slide hot enough to melt: the wear law knows of none.

    Parameters:
        edges: of one option.
        rigged: what rigging says of it.
        melts_c: by rope, the lower end of the range in which its sheath melts [degC].
    """
    ropes = {one["line"]: one["rope"] for one in reversed(rigged.get("ropes", ()))}
    return tuple(
        dict.fromkeys(
            one.edge
            for one in edges
            if one.flash_temperature_c is not None
            and one.flash_temperature_c >= melts_c.get(ropes.get(one.line, ""), math.inf)
        )
    )


def _counted(
    columns: Columns, runs: Columns, counts: NDArray[np.float64], name: str
) -> float | None:
    """A sheath demand of an edge in the runs that count, as much as they do [1]; None: unknown."""
    order = np.argsort(runs["run"])
    of_row = order[np.searchsorted(runs["run"], columns["run"], sorter=order)]
    used = counts[of_row] > 0.0
    demand = float(counts[of_row][used] @ columns[name][used])
    return demand if math.isfinite(demand) else None


def _summary(
    line: str, edge: str, columns: Columns, worst_share: float, rigged: Mapping[str, Any]
) -> EdgeSummary:
    strokes = float(columns["strokes"].sum())
    role, protection = _met_by(line, edge, rigged)
    working = role == WORKING
    return EdgeSummary(
        line=line,
        role=role,
        edge=edge,
        protection=protection,
        level=str(rigged["edge_levels"].get(edge, "")) if working else "",
        wrap_deg=_median(columns["wrap_deg"]),
        strokes=_median(columns["strokes"]),
        stuck_share=float(columns["strokes_stuck"].sum()) / strokes if strokes else None,
        sawing_amplitude_m=_median(columns["sawing_amplitude_m"]),
        travel_per_stroke_m=_travel(columns, strokes),
        mark_travel_m=Quantiles(
            *(_number(columns[f"mark_travel_{p}_m"]) for p in ("p5", "p50", "p95"))
        ),
        slip_m=_median(columns["slip_m"]),
        energy_j=_median(columns["energy_j"]),
        peak_tension_n=_median(columns["peak_tension_n"]),
        flash_temperature_c=_mostly(columns["flash_temperature_c"]),
        demand_max=_median(columns["demand_max"]),
        worst_share=worst_share,
        mark_stop_m=_mark_stop(columns),
        worn_at=worn_at(columns),
    )


def _travel(columns: Columns, strokes: float) -> float | None:
    """Rope dragged over the edge to and fro in one stroke [m], 0 where it lies still in most.

    None without strokes, and where none travelled or their travel was not kept: descents and work
    in place drag rope as well, so the whole path over all strokes says nothing of one.
    """
    middle, most = (_number(columns[f"mark_travel_{p}_m"]) for p in ("p50", "p95"))
    return middle if strokes and most else None


def _mark_stop(columns: Columns) -> float | None:
    """Travel of a mark at which the forecast no longer holds [m]; None: no mark would tell.

    The spread between worlds and the spread between strokes add up as those of a log-normal. What
    travels less than can be measured says nothing until it can be; what must travel further than
    anybody follows by eye says nothing at all.
    """
    between, within = _finite(columns["mark_travel_p50_m"]), _finite(columns["mark_travel_p95_m"])
    median, high = quantile(between, 0.5), quantile(between, 0.95)
    stroke = quantile(within, 0.5)
    if not median or not high or not stroke or median <= 0:
        return None
    spread = math.hypot(math.log(high / median), math.log(max(stroke / median, 1.0)))
    stop_m = max(stop_travel_m(median, median * math.exp(spread)), LEAST_SEEN_M)
    return stop_m if stop_m <= MOST_SEEN_M else None


def _met_by(line: str, edge: str, rigged: Mapping[str, Any]) -> tuple[str, str | None]:
    """Role of a line and what protects it at an edge."""
    roles = [s["role"] for s in rigged["sections"] if s["line"] == line]
    return (roles[0] if roles else WORKING), protection_at(line, edge, rigged)


def protection_at(line: str, edge: str, rigged: Mapping[str, Any]) -> str | None:
    """What lies between a line and an edge, or None for a bare one."""
    for section in rigged["sections"]:
        if section["line"] == line:
            covers = section.get("covers") or {m["name"]: m["protection"] for m in section["edges"]}
            if edge in covers:
                found: str | None = covers[edge]
                return found
    return None


def _finite(values: NDArray[Any]) -> NDArray[np.float64]:
    return np.asarray(values[np.isfinite(values)], dtype=np.float64)


def _mostly(values: NDArray[Any]) -> float | None:
    """The median of what most trials have a figure for."""
    return _number(values) if 2 * np.isfinite(values).sum() > values.size else None


def _number(values: NDArray[Any]) -> float | None:
    finite = _finite(values)
    return float(np.median(finite)) if finite.size else None


def _median(values: NDArray[Any]) -> float:
    number = _number(values)
    return 0.0 if number is None else number
