"""A study without physics: outcomes are a formula of the draws, quick and known in closed form."""

from __future__ import annotations

import hashlib
import math
import os
import signal
import time
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from edgewear import records
from edgewear.case import Uncertainty
from edgewear.dataset.ranking.model import BridgeStep
from edgewear.errors import RunFailed
from edgewear.study.compared import Described, NominalCourse
from edgewear.study.task import PlayedRows

WHY = ("epistemic", "made up")
FRICTION = Uncertainty("friction/kerb", "friction", "lognormal", 0.3, 0.2, 0.45, "1", *WHY)
MASS = Uncertainty("people/lead/mass", "body", "normal", 100.0, 85.0, 115.0, "kg", *WHY)


@dataclass(frozen=True)
class FakeModel:
    """Demand is the option's base times friction over 0.3 times mass over 100 kg."""

    bases: dict[str, float]
    known: tuple[Uncertainty, ...] = (FRICTION, MASS)
    controls: tuple[str, ...] = ()  # of the options, soft where there is none
    raises_at: frozenset[int] = frozenset()  # runs that raise
    not_a_number_at: frozenset[int] = frozenset()
    kills_at: frozenset[int] = frozenset()  # runs whose worker dies, every time
    kills_once: str = ""  # a file whose presence kills one worker, which removes it first
    busy_s: float = 0.0  # time a run takes

    def play(self, rows):
        """Give the outcome of rows of one option."""
        run = rows["run"]
        self._misbehave(set(run.tolist()))
        demand = self.bases[rows["option"][0]] * rows["friction/kerb"] / 0.3
        if "people/lead/mass" in rows:
            demand = demand * rows["people/lead/mass"] / 100
        runs = blank(records.RUN, len(run))
        runs["run"], runs["status"] = run, "ok"
        runs["sheath_demand_max"] = demand
        runs["sheath_margin"] = 1 - demand
        runs["sheath_margin"][np.isin(run, list(self.not_a_number_at))] = math.nan
        runs["worst_line"], runs["worst_edge"] = "working", "kerb"
        for name in ("core_visible_time_s", "core_visible_ascended_m"):
            runs[name] = np.where(demand >= 1, 60 / demand, np.nan)
        never = [n for n in runs.dtype.names if n.startswith(("parted_", "third_", "two_thirds_"))]
        for name in set(never) - {"parted_step"}:
            runs[name] = np.nan
        runs["residual_strength_n"] = 20_000 / (1 + demand)
        runs["peak_tension_n"] = runs["anchor_peak_n"] = 1500 * (1 + demand)
        runs["strokes"] = 30
        edges = blank(records.EDGE, len(run))
        edges["run"], edges["line"], edges["edge"] = run, "working", "kerb"
        edges["wrap_deg"], edges["peak_tension_n"], edges["demand_max"] = 60.0, 1500.0, demand
        edges["strokes"], edges["strokes_stuck"] = 30, 6
        return PlayedRows(runs, edges)

    @property
    def options(self):
        """The options' names."""
        return tuple(self.bases)

    def uncertainties(self, option):
        """The same for every option."""
        return self.known

    def rigged(self, option):
        """An option with one working line over one kerb."""
        levels = dict(zip(self.bases, self.controls, strict=False))
        edge = {"name": "kerb", "protection": "pad"}
        return {
            "control": levels.get(option, "soft"),
            "why_not_higher": {"rigid or rolling": "not recorded"},
            "status": [],
            "edge_levels": {"kerb": levels.get(option, "soft")},
            "sections": [{"line": "working", "role": "working line", "edges": [edge]}],
            "drawing": {},
            "warnings": [],
        }

    def nominal(self, option):
        """A minute in which demand grows evenly."""
        wear, timeline = blank(records.WEAR, 3), blank(records.TIMELINE, 61)
        events = blank(records.EVENT, 1)
        for table in (wear, timeline, events):
            table["option"] = option
        wear["line"] = timeline["line"] = "working"
        wear["rope"] = timeline["rope"] = 1
        wear["along_m"], wear["demand"] = [1, 2, 3], [0, self.bases[option], 0]
        timeline["time_s"] = np.arange(61)
        timeline["demand"] = np.arange(61) / 60 * self.bases[option]
        steps = blank(records.STEP_WEAR, 1)
        steps["option"], steps["line"], steps["demand"] = option, "working", self.bases[option]
        margin = 1 - self.bases[option]
        return NominalCourse(events, wear, timeline, steps, 5_000.0, margin, None)

    def bridge(self, poorer, better, replicates=(), later=None):
        """One change that is worth all of the difference."""
        return lambda: (BridgeStep("base", 1 - self.bases[poorer], 1 - self.bases[better]),)

    def _misbehave(self, runs):
        if self.busy_s:
            time.sleep(self.busy_s * len(runs))
        if runs & self.raises_at and len(runs) >= 1:
            raise RunFailed(f"the rope is not there in run {min(runs & self.raises_at)}")
        if runs & self.kills_at:
            os.kill(os.getpid(), signal.SIGKILL)
        if self.kills_once:
            with suppress(FileNotFoundError):
                dies_once(self.kills_once)


def dies_once(bomb):
    """End the process if a file is there, which goes first; raise if it is not."""
    Path(bomb).unlink()
    os.kill(os.getpid(), signal.SIGKILL)


def blank(columns, rows):
    """Rows of a table with zeros, empty texts."""
    table = np.zeros(rows, dtype=records.numpy_dtype(columns))
    for column in columns:
        if column.dtype == "str":
            table[column.name] = ""
    return table


DESCRIBED = Described(
    file="made-up.yaml",
    text=b"title: made up\n",
    title="made up",
    setting="industrial",
    target=0.5,
    resolved={"title": "made up"},
)


def bytes_of(root):
    """The sha256 of every file of a dataset but the log."""
    return {
        path.relative_to(root).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(root.rglob("*"))
        if path.is_file() and "log" not in path.relative_to(root).parts
    }


SLEEVE = """\
edgewear: 1
title: A sleeve on a test edge
setting: test
edges: {arris: {radius: 2 mm, surface: steel}}
ropes: {rope: {like: low-stretch 11, length: 60 m}}
people: {climber: {mass: 90 kg, technique: jerky, start: 6 m}}
options:
  bare:   {rope: rope, over: [{edge: arris, after: 10 m, bend: 30 deg}]}
  sleeve: {rope: rope, over: [{edge: arris, after: 10 m, bend: 30 deg}], protect: {arris: sleeve}}
job: [{ascend: 1 m}]
"""
"""A short climb over one edge, bare or under a sleeve; a study is written below it."""
