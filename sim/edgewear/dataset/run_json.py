"""The document of one nominal run, as `run --json` prints it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from edgewear.cautions import BARE_EDGE, all_for
from edgewear.dataset.ranking.edge_summaries import protection_at
from edgewear.dataset.ranking.model import TOP_MARGIN
from edgewear.dataset.ranking.why import bare_said
from edgewear.findings.failure import without_room
from edgewear.findings.plain import plain
from edgewear.terms import CUTTING, EXTRAPOLATED, LINE_LOST, NO_ROOM, UNFINISHED

SCHEMA = "edgewear.run/1"

TICKS_A_SECOND = 10_000

CUTTING_CAUTION = (
    "This edge can part a rope in one pass; the wear computed here holds for research alone."
)


class First(Protocol):
    """The first time something became true on a line."""

    def _asdict(self) -> dict[str, Any]:
        """Its figures by name."""


class Line(Protocol):
    """What the document needs of a line's outcome."""

    @property
    def name(self) -> str:
        """Name of the line."""

    def _asdict(self) -> dict[str, Any]:
        """Its figures by name."""


def run_document(
    option: str,
    rigged: Mapping[str, Any],
    lines: Sequence[Line],
    edges: NDArray[np.void],
    events: NDArray[np.void],
    run: np.void,
    bare: Sequence[Mapping[str, Any]] = (),
    slings: Sequence[Mapping[str, Any]] = (),
    heat: Mapping[tuple[str, int, str], str] | None = None,
    faults: Sequence[str] = (),
) -> dict[str, Any]:
    """Put a nominal run into the document.

    Parameters:
        option: its name.
        rigged: what rigging says of it, JSON-able.
        lines: the outcome of each line that was used.
        edges: `records.EDGE` rows of the run.
        events: `records.EVENT` rows of the run.
        run: its `records.RUN` row.
        bare: where a line lay bare over an edge.
        slings: their wear.
        heat: (line, rope, edge) -> the contact's temperature beside the fibre's limits, in words.
        faults: names of the scenario's faults, none of which was played.

    Returns:
        A JSON-able document; what never happened is null.
    """
    extrapolated = [part.strip() for part in str(run["extrapolated"]).split(",") if part.strip()]
    status = _statuses(rigged, lines, extrapolated)
    document = {
        "schema": SCHEMA,
        "option": option,
        "status": status,
        "control": rigged["control"],
        "lines": [_line(line, edges, rigged, heat or {}) for line in lines],
        "slings": list(slings),
        "bare_edge": list(bare),
        "extrapolated": extrapolated,
        "energy_residual": float(run["energy_residual"]),
        "duration_s": float(run["duration_s"]),
        "ascended_m": float(run["ascended_m"]),
        "strokes": int(run["strokes"]),
        "stroke_hz": float(run["stroke_hz"]),
        "events": [_event(event) for event in events],
        "mind": list(rigged.get("mind", ())),
        "warnings": list(rigged.get("warnings", ())),
        "faults_not_played": list(faults),
        "cautions": [
            *all_for([*status, *([BARE_EDGE] if bare_said(rigged) else [])]),
            *([CUTTING_CAUTION] if CUTTING in status else []),
        ],
    }
    found: dict[str, Any] = plain(document)
    return found


def _statuses(
    rigged: Mapping[str, Any], lines: Sequence[Line], extrapolated: Sequence[str]
) -> list[str]:
    lost = any(line._asdict()["core_visible"] is not None for line in lines)
    first = [UNFINISHED] * bool(rigged.get("ended_early")) + [LINE_LOST] * lost
    first += [NO_ROOM] * without_room(rigged.get("doubts", ()))
    more = [EXTRAPOLATED] * bool(extrapolated)
    return list(dict.fromkeys([*rigged["status"], *first, *more]))


def _line(
    line: Line,
    edges: NDArray[np.void],
    rigged: Mapping[str, Any],
    heat: Mapping[tuple[str, int, str], str],
) -> dict[str, Any]:
    figures = line._asdict()
    mine = [edge for edge in edges if edge["line"] == line.name]
    demand = figures["sheath_demand_max"]
    return {
        "name": line.name,
        "role": figures["role"],
        "edges": [_edge(edge, rigged, heat) for edge in mine],
        "peak_tension_n": figures["peak_tension_n"],
        "anchor_peak_n": figures["anchor_peak_n"],
        "stretch_m": figures["stretch_m"],
        "natural_frequency_hz": {"sliding": figures["sliding_hz"], "stuck": figures["stuck_hz"]},
        "sheath_margin": _margin(demand, mine),
        "sheath_demand_max": demand,
        "core_visible": _first(figures["core_visible"]),
        "core_loss": figures["core_loss"],
        "residual_strength_n": figures["residual_strength_n"],
        "parted": _first(figures["parted"]),
        "ropes": [_rope(rope._asdict(), mine) for rope in figures["ropes"]],
    }


def _rope(figures: Mapping[str, Any], edges: Sequence[np.void]) -> dict[str, Any]:
    over = [edge for edge in edges if edge["rope"] == figures["rope"]]
    return {"sheath_margin": _margin(figures["sheath_demand_max"], over), **figures}


def _margin(demand: float, edges: Sequence[np.void]) -> float:
    """Sheath that a demand leaves: never all of it where the loaded rope lay over an edge."""
    touched = any(edge["wrap_deg"] > 0 and edge["peak_tension_n"] > 0 for edge in edges)
    return min(1 - demand, TOP_MARGIN) if touched else 1 - demand


def _edge(
    edge: np.void, rigged: Mapping[str, Any], heat: Mapping[tuple[str, int, str], str]
) -> dict[str, Any]:
    same = ("slip_m", "energy_j", "sawing_amplitude_m", "peak_tension_n", "flash_temperature_c",
            "demand_max", "sideways_m", "sideways_demand")  # fmt: skip
    line, rope, name = str(edge["line"]), int(edge["rope"]), str(edge["edge"])
    return {
        "name": name,
        "rope": rope,
        "wrap_deg": float(edge["wrap_deg"]),
        "protection": protection_at(line, name, rigged),
        "slips": int(edge["slips"]),
        **{key: float(edge[key]) for key in same},
        "mark_travel_m": {p: float(edge[f"mark_travel_{p}_m"]) for p in ("p5", "p50", "p95")},
        "strokes": int(edge["strokes"]),
        "strokes_stuck": int(edge["strokes_stuck"]),
        "heat": heat.get((line, rope, name)),
    }


def _first(first: First | None) -> dict[str, Any] | None:
    return None if first is None else dict(first._asdict())


def _event(event: np.void) -> dict[str, Any]:
    return {
        "time_s": int(event["tick"]) / TICKS_A_SECOND,
        "who": str(event["who"]),
        "what": str(event["what"]),
        "step": int(event["step"]),
        "detail": str(event["detail"]),
        "value": float(event["value"]),
    }
