"""One table of columns that feeds numpy dtypes, parquet schemas and the reference page."""

from __future__ import annotations

from math import nan
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear.terms import FAILED

MODEL = 2
"""Rises whenever the same input gives other results; docs/CHANGELOG.md says why."""


class Column(NamedTuple):
    """A column of a dataset: its name ends in its SI unit."""

    name: str
    dtype: str  # numpy spelling; "str" for text, "bool" for flags
    unit: str  # "1" for a plain number, "" for text
    meaning: str
    kind: str = ""  # of an uncertainty: epistemic or aleatory
    more: tuple[tuple[str, str], ...] = ()  # of an input: low, high, distribution, pedigree, alias


PLAN = (
    Column("run", "int64", "1", "row number in the plan"),
    Column("option", "str", "", "option"),
    Column(
        "replicate", "int64", "1", "trial; the same number means the same world for every option"
    ),
    Column("chunk", "int64", "1", "part that holds the outcome"),
)
"""Fixed columns of a plan (`plan.parquet`); levers and uncertainties follow, by address."""

RUN = (
    Column("run", "int64", "1", "row number in the plan"),
    Column("status", "str", "", "ok, or failed"),
    Column("reason", "str", "", "why a run failed, or used a rope up; empty otherwise"),
    Column(
        "sheath_margin",
        "float64",
        "1",
        "1 minus the largest sheath demand of the worst working line",
    ),
    Column(
        "sheath_demand_max", "float64", "1", "largest sheath demand along the worst working line"
    ),
    Column("worst_line", "str", "", "the working line with the largest demand"),
    Column("worst_edge", "str", "", "the edge at the place of the largest demand"),
    Column("core_visible_time_s", "float64", "s", "first time the core shows; NaN: never"),
    Column("core_visible_ascended_m", "float64", "m", "rope climbed by then; NaN: never"),
    Column("core_visible_step", "int64", "1", "step of the job it happened in, from 1; 0: never"),
    Column(
        "third_worn_time_s",
        "float64",
        "s",
        "first time a third of the sheath is worn; NaN: never",
    ),
    Column("third_worn_ascended_m", "float64", "m", "rope climbed by then; NaN: never"),
    Column("two_thirds_worn_time_s", "float64", "s", "the same of two thirds"),
    Column("two_thirds_worn_ascended_m", "float64", "m", "rope climbed by then; NaN: never"),
    Column("core_loss", "float64", "1", "share of the core's section lost at the worst place"),
    Column(
        "residual_strength_n", "float64", "N", "what the rope would still hold at its weakest place"
    ),
    Column("parted_time_s", "float64", "s", "time the line parted; NaN: never"),
    Column("parted_ascended_m", "float64", "m", "rope climbed by then; NaN: never"),
    Column("parted_step", "int64", "1", "step of the job it happened in, from 1; 0: never"),
    Column("peak_tension_n", "float64", "N", "largest tension anywhere on the working lines"),
    Column("anchor_peak_n", "float64", "N", "largest tension at an anchor of the working lines"),
    Column("anchor_peak_name", "str", "", "the anchor or re-anchor that bore it"),
    Column("stretch_m", "float64", "m", "largest stretch at the person"),
    Column(
        "frequency_sliding_hz", "float64", "Hz", "natural frequency, rope sliding at every edge"
    ),
    Column("frequency_stuck_hz", "float64", "Hz", "natural frequency, rope stuck at the last edge"),
    Column("slip_m", "float64", "m", "sliding path summed over the working lines' edges"),
    Column("energy_j", "float64", "J", "friction energy summed over the working lines' edges"),
    Column("energy_residual", "float64", "1", "|in - out| over the sum of absolute energy flows"),
    Column("strokes", "int64", "1", "strokes climbed"),
    Column("stroke_hz", "float64", "Hz", "mean stroke rate while climbing; NaN: no strokes"),
    Column("ascended_m", "float64", "m", "rope climbed in all"),
    Column("duration_s", "float64", "s", "length of the job"),
    Column(
        "extrapolated", "str", "", "inputs outside the domain of the observations, comma separated"
    ),
    Column(
        "unlike_standard",
        "str",
        "",
        "what the standard of a rope's family would not pass, comma separated",
    ),
    Column(
        "unfinished_step",
        "float64",
        "1",
        "step of whoever's plan ended first before its last one; 0: all were finished",
    ),
    Column(
        "short_m",
        "float64",
        "m",
        "by how much a rope was too short or a climb too low, where that is the `reason`; else NaN",
    ),
    Column(
        "times_allowed",
        "float64",
        "1",
        "a peak or an energy left open over what is allowed, where that is the `reason`; else NaN",
    ),
)
"""Fixed outcome columns of a run (`runs/part-*.parquet`)."""

NEEDED = ("sheath_margin", "sheath_demand_max", "residual_strength_n", "energy_residual")
"""Outcomes that are numbers in every run that went well."""

ROPE = Column(
    "rope",
    "int64",
    "1",
    "which of the line's ropes, from 1; more where it was swapped; 0: a dataset of before",
)

EDGE = (
    Column("run", "int64", "1", "row number in the plan"),
    Column("line", "str", "", "name of the line"),
    ROPE,
    Column("edge", "str", "", "name of the edge"),
    Column("wrap_deg", "float64", "deg", "largest wrap angle of a loaded rope"),
    Column("slips", "int64", "1", "changes from stick to slip"),
    Column("slip_m", "float64", "m", "sliding path"),
    Column("energy_j", "float64", "J", "friction energy"),
    Column("sawing_amplitude_m", "float64", "m", "largest travel end to end within one stroke"),
    Column("mark_travel_p5_m", "float64", "m", "travel of a mark within a stroke, 5th percentile"),
    Column("mark_travel_p50_m", "float64", "m", "travel of a mark within a stroke, median"),
    Column(
        "mark_travel_p95_m", "float64", "m", "travel of a mark within a stroke, 95th percentile"
    ),
    Column("strokes", "int64", "1", "strokes made while loaded over this edge"),
    Column("strokes_stuck", "int64", "1", "of these, strokes that stayed inside the stick band"),
    Column("peak_tension_n", "float64", "N", "largest tension on either side"),
    Column("demand_max", "float64", "1", "largest sheath demand from this edge"),
    Column(
        "flash_temperature_c",
        "float64",
        "degC",
        "highest temperature of the moving contact; NaN: too short a contact for a figure",
    ),
    Column(
        "third_worn_time_s",
        "float64",
        "s",
        "a third worn by this edge alone; NaN: never",
    ),
    Column("third_worn_ascended_m", "float64", "m", "rope climbed by then; NaN: never"),
    Column("two_thirds_worn_time_s", "float64", "s", "the same of two thirds"),
    Column("two_thirds_worn_ascended_m", "float64", "m", "rope climbed by then; NaN: never"),
    Column("core_visible_time_s", "float64", "s", "the same of the whole sheath: the core shows"),
    Column("core_visible_ascended_m", "float64", "m", "rope climbed by then; NaN: never"),
    Column(
        "cover_energy_j", "float64", "J", "friction on one piece of protection at most; NaN: none"
    ),
    Column("cover_slip_m", "float64", "m", "rope that slid over it at most; NaN: none"),
    Column(
        "bypassed_demand",
        "float64",
        "1",
        "sheath demand that a bypass sling kept from the rope; NaN: no sling",
    ),
    Column("sideways_m", "float64", "m", "path of the rope along the edge, to and fro"),
    Column(
        "sideways_demand",
        "float64",
        "1",
        "of `demand_max`, what that path took at most: as if all at one place of the rope",
    ),
)
"""Outcomes at one edge of one line of one run (`edges/part-*.parquet`)."""

LATER = {
    "unfinished_step": nan,
    "short_m": nan,
    "times_allowed": nan,
    "sideways_m": nan,
    "sideways_demand": nan,
    "rope": 0,
}
"""Columns that datasets of before lack -> what is read there instead: not known.

Wear and course of a swapped line are there those of its last rope alone.
"""

EVENT = (
    Column("option", "str", "", "option"),
    Column("tick", "int64", "0.1 ms", "time since the start of the job"),
    Column("who", "str", "", "person, line, fault or edge attendant"),
    Column("what", "str", "", "begins, ends, or what happened"),
    Column("step", "int64", "1", "step of the job, from 1; 0: none"),
    Column("detail", "str", "", "name of the edge, step or item concerned"),
    Column(
        "value",
        "float64",
        "",
        "a number that goes with it, in the unit the word implies; NaN: none",
    ),
)
"""What happened in the nominal run of each option (`nominal/events.parquet`)."""

WEAR = (
    Column("option", "str", "", "option"),
    Column("line", "str", "", "line"),
    ROPE,
    Column(
        "along_m",
        "float64",
        "m",
        "unstretched rope from the line's fixed point, middle of the cell",
    ),
    Column("demand", "float64", "1", "sheath demand there"),
    Column("before", "float64", "1", "of it, what the rope brought from earlier jobs"),
)
"""Sheath demand along each rope in the nominal run (`nominal/wear.parquet`)."""

TIMELINE = (
    Column("option", "str", "", "option"),
    Column("line", "str", "", "line"),
    ROPE,
    Column("time_s", "float64", "s", "time since the start of the job"),
    Column("depth_m", "float64", "m", "depth of the person"),
    Column("tension_n", "float64", "N", "tension at the person"),
    Column("anchor_n", "float64", "N", "tension at the anchor"),
    Column("slip_m", "float64", "m", "sliding path of this rope so far, all edges"),
    Column("demand", "float64", "1", "its largest sheath demand so far"),
)
"""Samples of the nominal run, rope by rope (`nominal/timeline.parquet`)."""

STEP_WEAR = (
    Column("option", "str", "", "option"),
    Column("line", "str", "", "line"),
    Column("person", "str", "", "whose line it is"),
    Column("by", "str", "", "who made the step"),
    Column("step", "int64", "1", "step of the list of who made it, from 1"),
    Column("demand", "float64", "1", "demand it added where the line is worn most"),
)
"""Wear of the nominal run by step; sums to the line's demand (`nominal/steps.parquet`)."""

TABLES = {
    "plan": PLAN,
    "runs": RUN,
    "edges": EDGE,
    "events": EVENT,
    "wear": WEAR,
    "timeline": TIMELINE,
    "steps": STEP_WEAR,
}


def numpy_dtype(columns: tuple[Column, ...]) -> np.dtype[np.void]:
    """Structured dtype of a table; text becomes Python objects."""
    return np.dtype([(c.name, "O" if c.dtype == "str" else c.dtype) for c in columns])


def failed_runs(runs: NDArray[np.int64], reason: str) -> NDArray[np.void]:
    """RUN (n,) of runs that have no outcome: numbers are NaN, counts 0, texts empty."""
    rows = np.zeros(len(runs), numpy_dtype(RUN))
    for column in RUN:
        rows[column.name] = {"str": "", "float64": np.nan, "int64": 0}[column.dtype]
    rows["run"], rows["status"], rows["reason"] = runs, FAILED, reason
    return rows
