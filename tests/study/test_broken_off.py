"""A nominal run that ends before its plan is told: what is said of wear is of a part of the job."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from edgewear.job.log import Kind
from edgewear.records import EVENT, numpy_dtype
from edgewear.study.compare import compare
from edgewear.study.compared import NominalCourse

NOTHING = np.zeros(0, numpy_dtype(EVENT))
COURSE = NominalCourse(NOTHING, NOTHING, NOTHING, NOTHING, 1.0, 1.0, None)

CUT = """
edgewear: 1
title: A climb over a cutting edge
setting: alpine
target: 70 %
anchors: {{post: {{out: -1 m, up: 0.5 m, kind: pair}}}}
edges: {{slab: {{out: 0 m, up: 0 m, radius: {radius}, surface: glass}}}}
ropes: {{line: {{like: low-stretch 9, length: 40 m}}}}
people: {{ann: {{mass: 95 kg, technique: jerky}}}}
options: {{bare: {{anchor: post, rope: line}}}}
job: [descend: 10 m, ascend: 10 m]
"""


def logged(*entries: tuple[str, Kind, int, str]) -> Any:
    """A course of which that is the log."""
    events = np.zeros(len(entries), numpy_dtype(EVENT))
    for row, (who, kind, step, detail) in zip(events, entries, strict=True):
        row["who"], row["what"], row["step"], row["detail"] = who, kind.word, step, detail
    return replace(COURSE, events=events)


@pytest.mark.parametrize("steps", [1, 2, 5])
@pytest.mark.parametrize("people", [("ann",), ("ann", "bo"), ("stops", "ends")])
@pytest.mark.parametrize("ends", [0, 1, 2])
def test_who_ends_early_is_told_once_each_with_step_and_reason(
    steps: int, people: tuple[str, ...], ends: int
) -> None:
    early = people[:ends]
    log = [(who, Kind.BEGINS, step, "climbs") for who in people for step in range(1, steps + 1)]
    log += [(who, Kind.STOPS, steps, f"the rope of {who} is used up") for who in early]
    log += [(who, Kind.ENDS, steps, "climbs") for who in people if who not in early]
    told = logged(*log).broken_off
    assert len(told) == len(early)
    for who, words in zip(early, told, strict=True):
        assert f"{who} does not finish the job" in words
        assert f"step {steps}: the rope of {who} is used up" in words


@pytest.mark.parametrize(("radius", "parts"), [("0.1 mm", True), ("30 mm", False)])
def test_a_comparison_says_that_a_line_parted_before_the_plan_ended(
    radius: str, parts: bool, tmp_path: Path
) -> None:
    file = tmp_path / "cut.yaml"
    file.write_text(CUT.format(radius=radius), "utf-8")
    (option,) = compare(file, 3, out=tmp_path / "out").options
    assert any("does not finish the job" in text for text in option.facts["mind"]) is parts
