"""Of a line whose rope is swapped during the job each rope's wear is told apart, wherever it is.

All up to a swap is one course, and a fresh rope begins from nothing: so each rope is worn, to the
last bit, as that of a job of its own which begins where that one was taken into use.
"""

from __future__ import annotations

import io
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import edgewear
from edgewear.dataset.ranking.option_trials import samples_of
from edgewear.dataset.reading import open_dataset
from edgewear.dataset.rope_wear import line_wear
from edgewear.engine.results.nominal_tables import timeline_of
from edgewear.procedure.timeline import _curves
from edgewear.report.terminal.single_run import print_run
from edgewear.report.write import write_report
from edgewear.study.compare import compare
from edgewear.study.single import simulate

TEXT = """\
edgewear: 1
title: a rope that is swapped when it is worn
setting: test
target: 70 %
edges: {{arris: {{radius: 2 mm, surface: concrete}}}}
ropes:
  rope: {{like: low-stretch 11, length: 60 m, stopper: yes}}
people: {{ann: {{mass: 95 kg, technique: jerky, start: {start} m}}}}
options:
  one:
    rope: rope
    over: [{{edge: arris, after: 15 m, bend: 70 deg}}]
    safety line: {{rope: rope, over: [{{edge: arris, after: 15 m, bend: 10 deg}}]}}
job: [{job}]
"""
START_M = 30.0
WORKING = "working line"
WAYS = [(3, 2), (2, 5), (1.5, 1, 4), (4, -2)]
"""Metres climbed on each rope in turn; below 0: down."""


def written(start_m: float, *ways: float) -> str:
    steps = [f"{'ascend' if way > 0 else 'descend'}: {abs(way)} m" for way in ways]
    return TEXT.format(start=start_m, job=", swap rope, ".join(steps))


def alone(ways: tuple[float, ...]) -> list[edgewear.Run]:
    """A job of its own for each rope, from where it was taken into use."""
    starts = START_M - np.cumsum([0.0, *ways])
    return [
        edgewear.load(written(start, way)).run() for start, way in zip(starts, ways, strict=False)
    ]


@pytest.mark.parametrize("ways", WAYS, ids=str)
@pytest.mark.parametrize("what", ["wear", "timeline", "edges", "strokes"])
def test_each_rope_is_told_as_that_of_a_job_of_its_own(ways: tuple[float, ...], what: str) -> None:
    whole = getattr(edgewear.load(written(START_M, *ways)).run(), what)()
    whole = whole[whole["line"] == WORKING]
    assert what == "strokes" or sorted(set(whole["rope"])) == list(range(1, len(ways) + 1))
    for rope, own in enumerate(alone(ways), 1):
        single = getattr(own, what)()
        single = single[single["line"] == WORKING]
        mine = whole[whole["rope"] == rope]
        if what == "timeline":  # that of the last step goes on while it hangs still
            single, mine = single[["slip_m", "demand"]].iloc[:-2], mine[["slip_m", "demand"]]
            mine = mine.iloc[: len(single)]
        # when and after how much rope it was is that of the whole job
        told = [n for n in mine.columns if n != "rope" and not n.endswith(("time_s", "ascended_m"))]
        assert len(mine) == len(single)
        for name in told:
            np.testing.assert_array_equal(mine[name].to_numpy(), single[name].to_numpy(), name)


@pytest.mark.parametrize("ways", WAYS, ids=str)
def test_run_tells_each_rope_in_its_document_and_on_the_terminal(ways: tuple[float, ...]) -> None:
    document = simulate(edgewear.load(written(START_M, *ways)).scenario)
    line = next(one for one in document["lines"] if one["name"] == WORKING)
    demands = [float(own.wear()["demand"].max()) for own in alone(ways)]
    assert [one["rope"] for one in line["ropes"]] == list(range(1, len(ways) + 1))
    assert [one["sheath_demand_max"] for one in line["ropes"]] == demands
    assert line["sheath_demand_max"] == max(demands)
    assert [one["rope"] for one in line["edges"]] == list(range(1, len(ways) + 1))
    other = next(one for one in document["lines"] if one["name"] != WORKING)
    assert [one["rope"] for one in other["ropes"]] == [1]
    stream = io.StringIO()
    print_run(document, stream)
    told = stream.getvalue().splitlines()
    found = [text.strip() for text in told if text.startswith("  Rope ")]
    assert [text.split(":")[0] for text in found] == [f"Rope {n + 1}" for n in range(len(ways))]


def test_a_line_that_keeps_its_rope_is_told_as_ever() -> None:
    stream = io.StringIO()
    print_run(simulate(edgewear.load(written(START_M, 3)).scenario), stream)
    assert "Rope 1" not in stream.getvalue()
    assert "ropes" not in stream.getvalue()


@pytest.mark.parametrize("ways", WAYS, ids=str)
@pytest.mark.parametrize("what", ["profile", "timeline"])
def test_a_picture_names_each_rope(ways: tuple[float, ...], what: str) -> None:
    pytest.importorskip("matplotlib").use("Agg")
    from matplotlib.figure import Figure  # one of its own, that nobody has to close

    def labels(*climbed: float) -> set[str]:
        axes = edgewear.load(written(START_M, *climbed)).run().plot(what, Figure().subplots())
        return set(axes.get_legend_handles_labels()[1])

    ropes = {f"{WORKING}, rope {n + 1}" for n in range(len(ways))}
    assert ropes <= labels(*ways) <= ropes | {"safety line"}
    assert WORKING in labels(ways[0])


def test_the_course_of_faults_names_each_rope() -> None:
    """As `faults` draws it: what the first rope was worn is not lost with it."""
    found = edgewear.load(written(START_M, 3, 2)).run()
    curves = {one.line: one.demand for one in _curves(timeline_of(found.done, "one"))}
    for rope, own in enumerate(alone((3, 2)), 1):
        worn = float(own.wear()["demand"].max())
        assert max(curves[f"{WORKING}, rope {rope}"]) == pytest.approx(worn, rel=0.05)  # thinned
    assert WORKING not in curves


def compared(root: Path, text: str, trials: int = 4) -> Path:
    """The dataset of a comparison of a few trials."""
    (root / "job.yaml").write_text(text)
    compare(root / "job.yaml", trials, 0, workers=1, out=root / "out")
    return root / "out"


@pytest.mark.parametrize("ways", WAYS, ids=str)
def test_the_record_takes_the_wear_of_each_rope_and_the_page_names_it(
    tmp_path: Path, ways: tuple[float, ...]
) -> None:
    dataset = compared(tmp_path, written(START_M, *ways))
    for rope, own in enumerate(alone(ways), 1):
        found = line_wear(open_dataset(dataset), "one", WORKING, rope)
        profile = own.wear()
        # what is left of rounding counts as nothing in a record
        np.testing.assert_allclose(found.demand, profile["demand"].to_numpy(), atol=1e-12, rtol=0)
        assert math.isclose(found.first_m + 5e-4, profile["along_m"].iloc[0], abs_tol=1e-9)
    write_report([dataset], tmp_path / "page")
    page = (tmp_path / "page" / "report.html").read_text()
    assert "Of a line whose rope was swapped: each of its ropes by itself." in page
    for rope in range(1, len(ways) + 1):
        assert f"{WORKING}, rope {rope}: most worn" in page


@pytest.mark.parametrize("ways", WAYS, ids=str)
def test_a_summary_of_an_edge_is_that_of_the_rope_worn_most(
    tmp_path: Path, ways: tuple[float, ...]
) -> None:
    """One row a run, as for a line that keeps its rope; never the middle of one and another."""
    [sample] = samples_of(open_dataset(compared(tmp_path, written(START_M, *ways), trials=6)))
    raw, told = sample.edges, sample.at_edges
    mine, here = raw["line"] == WORKING, told["line"] == WORKING
    assert here.sum() == 6
    by_run: dict[str, Any] = {
        name: raw[name][mine].reshape(6, len(ways))
        for name in ("run", "demand_max", "slip_m", "peak_tension_n", "third_worn_time_s")
    }
    rows, most = np.arange(6), by_run["demand_max"].argmax(axis=1)
    np.testing.assert_array_equal(told["run"][here], by_run["run"][:, 0])
    for name in ("demand_max", "slip_m"):
        np.testing.assert_array_equal(told[name][here], by_run[name][rows, most])
    np.testing.assert_array_equal(told["peak_tension_n"][here], by_run["peak_tension_n"].max(1))
    soonest = np.where(np.isnan(times := by_run["third_worn_time_s"]), np.inf, times).min(1)
    assert np.array_equal(np.nan_to_num(told["third_worn_time_s"][here], nan=np.inf), soonest)
    assert sample.edges["run"].size > told["run"].size


PARTS = """\
edgewear: 1
title: a rope that is swapped above a re-anchor
setting: test
target: 70 %
anchors: {{post: {{out: -4 m, up: 0.5 m, kind: pair}}, bolts: {{out: 0.2 m, up: -8 m, kind: pair}}}}
edges:
  lip: {{out: 0 m, up: 0 m, radius: 3 mm, surface: concrete}}
  ledge: {{out: 0.3 m, up: -10 m, radius: 3 mm, surface: concrete}}
ropes:
  used: {{like: low-stretch 11, length: 60 m, worn: [{{from: 0 m, to: 59 m, sheath: {worn}}}]}}
  back: {{like: low-stretch 11, length: 60 m}}
people: {{ann: {{mass: 90 kg, technique: normal}}}}
options:
  one: {{rope: used, anchor: post, re-anchor: [bolts], safety line: {{rope: back, anchor: post}}}}
job:
  - cross edge: lip
  - descend: 3 m
{swaps}  - descend: 3 m
  - pass re-anchor: bolts
  - descend: 8 m
"""


@pytest.mark.parametrize("worn", ["10 %", "40 %"])
@pytest.mark.parametrize("swaps", [0, 1, 2])
def test_a_part_first_used_after_a_swap_is_of_the_fresh_rope(worn: str, swaps: int) -> None:
    """A swap lays fresh rope in every part of the line, used or not: it brought no wear along."""
    wear = edgewear.load(PARTS.format(worn=worn, swaps="  - swap rope\n" * swaps)).run().wear()
    below = wear[wear["line"] == "working line below bolts"]
    assert set(below["rope"]) == {1 + swaps}
    brought = float(worn.split()[0]) / 100 if swaps == 0 else 0.0
    assert below["before"].max() == pytest.approx(brought, abs=1e-12)  # one rounding of a share
