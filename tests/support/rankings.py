"""Comparisons made by hand, so that reports can be tested without running a simulation."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from edgewear import cautions
from edgewear.dataset.ranking.looks import Looks
from edgewear.dataset.ranking.model import (
    BridgeStep,
    CoreVisible,
    EdgeSummary,
    Fact,
    First,
    OptionResult,
    PairedChance,
    Quantiles,
    Ranking,
    chance_words,
)
from edgewear.report.parts.sources import Source, source
from edgewear.terms import CUTTING, MEETS, MISSES, NOT_ACCEPTABLE

REPLICATES = 256


@dataclass(frozen=True)
class Columns:
    """A table that gives its columns by name, as pyarrow's do."""

    columns: dict[str, list[Any]]

    def to_pydict(self) -> dict[str, list[Any]]:
        """The columns by name."""
        return self.columns


ANCHORS = [
    {
        "name": "parapet posts",
        "at": [-3.0, 0.0, 1.0],
        "kind": "pair",
        "strength_n": 15e3,
        "use": "anchor",
    },
    {
        "name": "far bollards",
        "at": [-22.0, 0.0, 0.3],
        "kind": "pair",
        "strength_n": None,
        "use": "anchor",
    },
]
EDGES = [
    {
        "name": "kerb",
        "start": [-0.4, -5.0, 0.2],
        "end": [-0.4, 5.0, 0.2],
        "radius_m": 0.0045,
        "is": "worn masonry arris",
        "surface": "masonry",
        "protection": "pad",
    },
    {
        "name": "flange",
        "start": [0.3, -5.0, -1.0],
        "end": [0.3, 5.0, -1.0],
        "radius_m": 0.002,
        "is": None,
        "surface": "steel",
        "protection": "sleeve",
    },
    {
        "name": "ledge",
        "start": [0.6, -5.0, -3.5],
        "end": [0.6, 5.0, -3.5],
        "radius_m": 0.015,
        "is": "chamfered concrete",
        "surface": "concrete",
        "protection": "pad",
    },
]


def stop(kind: str, name: str, at: Sequence[float], before: Sequence[float]) -> dict[str, Any]:
    """One point of a path, with the rope from the point before."""
    return {
        "kind": kind,
        "name": name,
        "at": list(at),
        "after_m": math.dist(at, before),
        "bend_deg": 30.0 if kind == "edge" else 0.0,
    }


def course(name: str, role: str, anchor: dict[str, Any]) -> dict[str, Any]:
    """A line from an anchor over the three edges to the person."""
    points = [("anchor", anchor["name"], anchor["at"])]
    points += [("edge", edge["name"], [edge["start"][0], 0.0, edge["start"][2]]) for edge in EDGES]
    points += [("person", "lead", [0.62, 0.0, -21.0])]
    path = [
        stop(kind, place, at, points[max(index - 1, 0)][2])
        for index, (kind, place, at) in enumerate(points)
    ]
    return {"name": name, "role": role, "person": "lead", "rope": "store 11", "path": path}


def drawing() -> dict[str, Any]:
    """What the rigging says of an option: anchors, edges and both lines."""
    return {
        "direct": False,
        "anchors": ANCHORS,
        "edges": EDGES,
        "lines": [
            course("lead's working line", "working line", ANCHORS[1]),
            course("lead's safety line", "safety line", ANCHORS[0]),
        ],
        "stations": [],
    }


def load(name: str, line: str, case: str, peak_n: float) -> dict[str, Any]:
    """A load on an anchor that is a pair."""
    return {"name": name, "use": "anchor", "line": line, "case": case, "peak_n": peak_n,
            "direction": [0.95, 0.0, -0.31], "kind": "pair", "each_fixing_n": [peak_n / 2] * 2,
            "strength_n": 15e3}  # fmt: skip


def facts() -> dict[str, Any]:
    """What the rigging says of an option."""
    working, safety = "lead's working line", "lead's safety line"
    return {
        "drawing": drawing(),
        "warnings": ["lead's working line: under load the crossing travels 0.02 m along flange"],
        "independence": "two lines that share: both run over kerb, 0.9 m apart",
        "loads": [
            load("far bollards", working, "rescue", 1942.0),
            load("far bollards", working, "in work", 1442.0),
            load("parapet posts", safety, "rescue", 1942.0),
            load("parapet posts", safety, "catch", 3110.0),
        ],
        "transfers": [
            {"person": "lead", "line": safety, "depth_m": 21.0, "over": ["kerb", "flange"],
             "drop_m": 2.2, "swing_m": 1.8, "peak_n": 3110.0, "clearance_m": {"water": -0.7}},
        ],
        "ropes": [
            {"line": working, "rope": "store 11", "available_m": 60.0, "needed_m": 45.2,
             "tail_m": 14.8, "stopper": True},
        ],
    }  # fmt: skip


def edge(name: str, **changes: Any) -> EdgeSummary:
    """What one edge did."""
    whole = EdgeSummary(
        line="lead's working line",
        role="working line",
        edge=name,
        protection="pad",
        level="soft",
        wrap_deg=41.0,
        strokes=51.0,
        stuck_share=0.12,
        sawing_amplitude_m=0.061,
        travel_per_stroke_m=0.074,
        mark_travel_m=Quantiles(0.031, 0.052, 0.083),
        slip_m=4.2,
        energy_j=810.0,
        peak_tension_n=2300.0,
        flash_temperature_c=84.0,
        demand_max=0.22,
        worst_share=0.8,
        mark_stop_m=0.11,
    )
    return replace(whole, **changes)


def option(name: str, **changes: Any) -> OptionResult:
    """An option that meets the target unless told otherwise."""
    whole = OptionResult(
        name=name,
        order=1,
        rank=1,
        status=(MEETS,),
        control="soft",
        why_not_higher={
            "edge avoided": "no anchor clear of the edge",
            "rigid or rolling": "not recorded",
        },
        margin=Quantiles(0.74, 0.86, 0.93),
        margin_error=Quantiles(0.012, 0.004, 0.003),
        step_error=0.0011,
        p_core_visible=0.0,
        p_core_visible_words=chance_words(0, REPLICATES),
        p_best=0.91,
        p_best_error=0.018,
        beats_next=PairedChance("another", 0.93, 0.016, True, None, "beats another in 93 of 100"),
        core_visible_at=None,
        residual_strength_n=Quantiles(19e3, 22e3, 24e3),
        why="The kerb drags 74 mm of rope a stroke; 12 % of the strokes stay in the stick band.",
        anchor_peak_n=Quantiles(1500.0, 1900.0, 2600.0),
        peak_tension_n=Quantiles(1800.0, 2300.0, 3100.0),
        stretch_m=Quantiles(0.6, 0.8, 1.1),
        frequency_sliding_hz=0.55,
        frequency_stuck_hz=0.83,
        stroke_hz=0.31,
        trials=REPLICATES,
        failed=0,
        failed_reasons=(),
        extrapolated=(),
        energy_residual_max=2e-6,
        edges=(edge("kerb"), edge("flange", worst_share=0.2)),
        facts=facts(),
        why_facts=(Fact("stroke rate over natural frequency", "0.56 sliding, 0.37 stuck"),),
        looks=Looks(
            6.0,
            900.0,
            17,
            4.0,
            600.0,
            11,
            "whichever comes first; a look at every edge the rope lay over",
        ),
    )
    return replace(whole, **changes)


def ranking(*options: OptionResult, **changes: Any) -> Ranking:
    """A comparison of the options, in the order given."""
    statuses = [status for one in options for status in one.status]
    whole = Ranking(
        title="Bearing inspection, pier 4",
        setting="industrial",
        seed=7,
        replicates=REPLICATES,
        target=0.7,
        headline="2 of 4 options meet the target; first: re-anchored.",
        options=options,
        dataset="results/pier",
        report="results/pier/report.html",
        cautions=cautions.all_for(statuses),
        notes=(),
        scenario={"title": "Bearing inspection, pier 4"},
        scenario_text="edgewear: 1\n",
        scenario_sha256="ab" * 32,
        provenance={"edgewear": "0.1.0", "model": 1, "numpy": "2.4.6"},
        words=(
            {
                "address": "anchors/far bollards/out",
                "typed": "paced 22 m back",
                "meaning": "22 m",
                "low": 19.8,
                "high": 24.2,
                "unit": "m",
                "source": "paced: 10 %, assumed",
            },
        ),
        parameters=(
            {
                "address": "ropes/store 11/elongation",
                "value": 0.03,
                "low": 0.025,
                "high": 0.036,
                "unit": "1",
                "pedigree": "assumed",
            },
        ),
    )
    return replace(whole, **changes)


def ordinary() -> Ranking:
    """Five options, one of each group and one without a figure."""
    first = option(
        "re-anchored",
        control="re-anchored or deviated",
        bridge=(),
    )
    second = option(
        "posts, rollers",
        order=2,
        rank=2,
        control="rigid or rolling",
        margin=Quantiles(0.71, 0.81, 0.9),
        p_best=0.09,
        beats_next=None,
        bridge=(BridgeStep("re-anchor: none -> pier bolts", 0.81, 0.86),),
    )
    third = option(
        "bollards padded",
        order=3,
        rank=None,
        status=(MISSES, "line lost"),
        margin=Quantiles(-0.35, 0.42, 0.68),
        p_core_visible=0.09,
        p_core_visible_words=chance_words(23, REPLICATES),
        p_best=0.0,
        core_visible_at=CoreVisible(First(1500.0, None), First(13.0, None)),
    )
    fourth = option(
        "bollards bare",
        order=4,
        rank=None,
        status=(NOT_ACCEPTABLE,),
        control="bare",
        margin=Quantiles(-3.1, -1.2, 0.1),
        p_core_visible=0.94,
        p_core_visible_words=chance_words(241, REPLICATES),
        p_best=0.0,
    )
    fifth = option(
        "over the sheet",
        order=5,
        rank=None,
        status=(CUTTING, NOT_ACCEPTABLE),
        control="bare",
        margin=None,
        margin_error=None,
        p_core_visible=None,
        p_core_visible_words="",
        p_best=None,
        p_best_error=None,
        beats_next=None,
        residual_strength_n=None,
        step_error=None,
    )
    return ranking(first, second, third, fourth, fifth)


def crowded(count: int) -> OptionResult:
    """An option with so many lines, fixed points and edges, all with long names."""
    known = facts()
    names = [f"line number {place} of the crew" for place in range(count)]
    anchors = [
        dict(
            load(f"beam clamp number {place}", names[place], case, 1500.0 + place), use="re-anchor"
        )
        for place in range(count)
        for case in ("in work", "rescue")
    ]
    ropes = [dict(known["ropes"][0], line=name) for name in names]
    edges = tuple(edge(f"flange number {place}", line=names[place]) for place in range(count))
    return option(f"crowded {count}", facts=known | {"loads": anchors, "ropes": ropes}, edges=edges)


HOSTILE = (
    '<script>alert("x")</script>',
    '=HYPERLINK("http://example.invalid")',
    "حبل العمل على الحافة",
    "橋脚の検査・縁の保護",
    "n" * 180,
    "]]> &amp; | `code` *bold* \x1b[31mred",
)
"""Names that break an output which does not escape them."""


def hostile() -> Ranking:
    """An ordinary comparison whose options, edges and texts have hostile names."""
    plain = ordinary()
    options = tuple(
        replace(
            one,
            name=name,
            why=f"{name} is why",
            edges=(edge(name),),
            facts=facts() | {"drawing": renamed(drawing(), name), "warnings": [name]},
            why_not_higher={"edge avoided": name},
        )
        for one, name in zip(plain.options, HOSTILE, strict=False)
    )
    return replace(plain, options=options, title=HOSTILE[5], headline=HOSTILE[0], notes=HOSTILE)


def renamed(drawn: dict[str, Any], name: str) -> dict[str, Any]:
    """The drawing with one edge under another name."""
    edges = [dict(drawn["edges"][0], name=name), *drawn["edges"][1:]]
    lines = [
        dict(line, path=[dict(s, name=name) if s["name"] == "kerb" else s for s in line["path"]])
        for line in drawn["lines"]
    ]
    return dict(drawn, edges=edges, lines=lines)


def wear_table(names: Sequence[str], cells: int = 1200) -> Columns:
    """A bump of wear on the working line of every option, and less on its safety line."""
    columns: dict[str, list[Any]] = {
        key: [] for key in ("option", "line", "rope", "along_m", "demand")
    }
    for place, name in enumerate(names):
        for line, height in (("lead's working line", 0.2 + 0.3 * place), ("lead's safety line", 0)):
            for index in range(cells):
                along = 20 + index * 0.01
                columns["option"].append(name)
                columns["line"].append(line)
                columns["rope"].append(1)
                columns["along_m"].append(along)
                columns["demand"].append(height * math.exp(-((along - 24) ** 2)))
    return Columns(columns)


def timeline_table(names: Sequence[str], samples: int = 1500) -> Columns:
    """A job of 25 minutes with a ripple of tension."""
    columns: dict[str, list[Any]] = {
        key: [] for key in ("option", "line", "rope", "time_s", "tension_n", "slip_m", "demand")
    }
    for name in names:
        for index in range(samples):
            columns["option"].append(name)
            columns["line"].append("lead's working line")
            columns["rope"].append(1)
            columns["time_s"].append(float(index))
            columns["tension_n"].append(1000 + 600 * math.sin(index / 3))
            columns["slip_m"].append(index / 400)
            columns["demand"].append(max(index - 1100, 0) / 1000)
    return Columns(columns)


def event_table(names: Sequence[str]) -> Columns:
    """Four steps that begin one after the other."""
    columns: dict[str, list[Any]] = {
        key: [] for key in ("option", "tick", "who", "what", "step", "detail", "value")
    }
    steps = ("cross edge", "descend", "work", "ascend")
    for name in names:
        for index, step in enumerate(steps):
            for key, value in zip(
                columns,
                (name, index * 3_500_000, "lead", "begins", index + 1, step, math.nan),
                strict=True,
            ):
                columns[key].append(value)
    return Columns(columns)


def source_of(of: Ranking) -> Source:
    """The comparison with nominal tables for all its options."""
    names = [one.name for one in of.options]
    return source(of, wear_table(names), timeline_table(names), event_table(names))
