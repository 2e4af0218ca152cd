"""A finished comparison in memory, so that rankings can be tested without files or physics."""

from __future__ import annotations

from dataclasses import dataclass, field
from types import SimpleNamespace

import numpy as np
import pyarrow as pa

from edgewear import records
from edgewear.dataset.schema import table_of_records
from edgewear.terms import LEVELS


@dataclass
class Way:
    """An option by its trials: demand, and rope climbed when the line parted (NaN: it held)."""

    demand: list[float]
    control: str = "soft"
    status: tuple[str, ...] = ()
    parted_m: list[float] | None = None
    failed: frozenset[int] = frozenset()
    short: dict[int, tuple[str, float]] = field(default_factory=dict)  # of failed ones: why
    times: dict[int, tuple[str, float]] = field(default_factory=dict)  # ... and of these
    unfinished: dict[int, float] = field(default_factory=dict)  # trial -> step it ended at
    ended_early: tuple[dict[str, object], ...] = ()  # with middle values
    extrapolated: str = ""
    wrap_deg: float = 60.0
    step_error: float | None = None
    edges: dict[str, float] = field(default_factory=lambda: {"kerb": 1.0})  # share of the demand


class Comparison:
    """What `ranking_of` reads of a dataset."""

    root = "made up"
    scenario_text = "title: made up\n"
    scenario_sha256 = "0" * 64

    def __init__(self, ways: dict[str, Way], target: float = 0.7, seed: int = 1) -> None:
        """Lay the options out as a plan would."""
        self.ways = ways
        self.trials = len(next(iter(ways.values())).demand)
        about = {
            "title": "made up",
            "setting": "industrial",
            "target": target,
            "seed": seed,
            "replicates": self.trials,
            "file": "made-up.yaml",
        }
        self.manifest = SimpleNamespace(
            kind="compare",
            about=about,
            study="s",
            model=1,
            versions={},
            rows=self.trials * len(ways),
            failed=0,
        )
        self.resolved = {"scenario": {}, "options": {n: _rigged(w) for n, w in ways.items()}}

    def plan(self, columns=None):
        """Every option with every replicate."""
        rows = [(o, r) for o in self.ways for r in range(self.trials)]
        return pa.table(
            {
                "run": np.arange(len(rows)),
                "option": [o for o, _ in rows],
                "replicate": [r for _, r in rows],
            }
        )

    def runs(self):
        """The outcome of every run."""
        tables = [_runs(i * self.trials, w) for i, w in enumerate(self.ways.values())]
        return table_of_records(records.RUN, np.concatenate(tables))

    def edges(self):
        """The outcome at every edge."""
        tables = [_edges(i * self.trials, w) for i, w in enumerate(self.ways.values())]
        return table_of_records(records.EDGE, np.concatenate(tables))

    def bridges(self):
        """Nobody asked for the way from one to the other."""
        return {}

    def timeline(self):
        """A minute of even climbing."""
        rows = np.zeros(61 * len(self.ways), dtype=records.numpy_dtype(records.TIMELINE))
        for i, (name, way) in enumerate(self.ways.items()):
            mine = rows[61 * i : 61 * (i + 1)]
            mine["option"], mine["line"] = name, "working"
            mine["time_s"], mine["depth_m"] = np.arange(61), 20 - np.arange(61) / 6
            mine["demand"] = np.arange(61) / 60 * np.median(way.demand)
        return table_of_records(records.TIMELINE, rows)


def _rigged(way):
    return {
        "control": way.control,
        "why_not_higher": dict.fromkeys(LEVELS[: LEVELS.index(way.control)], "not recorded"),
        "status": list(way.status),
        "edge_levels": dict.fromkeys(way.edges, way.control),
        "sections": [
            {
                "line": "working",
                "role": "working line",
                "edges": [{"name": name, "protection": "pad"} for name in way.edges],
            }
        ],
        "step_error": way.step_error,
        "ended_early": list(way.ended_early),
    }


def _runs(first, way):
    demand = np.array(way.demand, dtype=float)
    parted = np.full(demand.size, np.nan) if way.parted_m is None else np.array(way.parted_m)
    rows = np.zeros(demand.size, dtype=records.numpy_dtype(records.RUN))
    for column in records.RUN:
        if column.dtype == "str":
            rows[column.name] = ""
    rows["run"], rows["status"] = first + np.arange(demand.size), "ok"
    rows["sheath_demand_max"], rows["sheath_margin"] = demand, 1 - demand
    rows["worst_line"], rows["worst_edge"] = "working", max(way.edges, key=way.edges.get)
    for what, share in (("third_worn", 1 / 3), ("two_thirds_worn", 2 / 3), ("core_visible", 1)):
        reached = 60 * share / np.maximum(demand, share)  # demand grows evenly in 60 s
        rows[f"{what}_time_s"] = np.where(demand >= share, reached, np.nan)
        rows[f"{what}_ascended_m"] = rows[f"{what}_time_s"] / 6
    rows["parted_time_s"] = rows["parted_ascended_m"] = parted
    rows["residual_strength_n"] = 20e3 / (1 + demand)
    rows["anchor_peak_n"] = rows["peak_tension_n"] = 1500.0
    rows["frequency_sliding_hz"], rows["frequency_stuck_hz"], rows["stroke_hz"] = 0.9, 1.4, 0.5
    rows["strokes"], rows["ascended_m"], rows["extrapolated"] = 30, 10.0, way.extrapolated
    for index, step in way.unfinished.items():
        rows["unfinished_step"][index] = step
    for index in way.failed:
        rows["status"][index], rows["reason"][index] = "failed", "made to fail"
        rows["sheath_margin"][index] = np.nan
    for name, told in (("short_m", way.short), ("times_allowed", way.times)):
        rows[name] = np.nan
        for index, (reason, by) in told.items():
            rows["reason"][index], rows[name][index] = reason, by
    return rows


def _edges(first, way):
    parts = []
    for name, share in way.edges.items():
        rows = np.zeros(len(way.demand), dtype=records.numpy_dtype(records.EDGE))
        rows["run"], rows["line"], rows["edge"] = first + np.arange(rows.size), "working", name
        rows["wrap_deg"], rows["peak_tension_n"] = way.wrap_deg, 1500.0
        rows["strokes"], rows["strokes_stuck"], rows["slip_m"] = 30, 6, 1.2 * share
        rows["demand_max"] = np.array(way.demand) * share
        for what in ("third_worn", "two_thirds_worn", "core_visible"):
            rows[f"{what}_time_s"] = rows[f"{what}_ascended_m"] = np.nan
        parts.append(rows)
    return np.concatenate(parts)
