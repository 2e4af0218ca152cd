"""Runs played many at a time are those played one by one, bit for bit."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from edgewear.engine.batch import play_batch
from edgewear.engine.draws import STROKES_A_BLOCK
from edgewear.engine.fast import section_of
from edgewear.layout import Kind
from edgewear.study.compare import drawn
from edgewear.study.model import ScenarioModel
from edgewear.study.plan import (
    LEAST_ROWS_ON_A_DEVICE,
    MOST_ROWS_ON_A_DEVICE,
    ComparePlan,
    chunk_rows_on_a_device,
)
from edgewear.study.sweeping.prepared import declared_in, prepared
from edgewear.study.task import FIXED
from edgewear.study.worker_pool import inline
from support.many import assert_the_same, one_by_one

SHIPPED = Path(__file__).parents[2] / "scenarios"

ONE_EDGE = """\
edgewear: 1
title: Up, down and work on one edge
setting: test
edges: {arris: {radius: 2 mm, surface: steel}}
ropes: {rope: {like: low-stretch 11, length: 60 m}}
people: {climber: {mass: 90 kg, technique: jerky, start: 6 m}}
options:
  bare: {rope: rope, over: [{edge: arris, after: 10 m, bend: 30 deg}]}
job:
  - ascend: 2 m
  - descend: 1 m
  - work: {for: 20 s}
  - ascend: {height: 1 m, technique: smooth}
"""

THREE_EDGES = """\
edgewear: 1
title: Up over three edges by their places
setting: test
anchors: {post: {out: -4 m, up: 0.5 m}}
edges:
  kerb:   {out: -0.5 m, up: 0.2 m, is: worn masonry arris}
  flange: {out: 0.3 m, up: -1 m, radius: 2 mm, surface: steel}
  ledge:  {out: 0.6 m, up: -3.5 m, is: chamfered concrete}
ropes: {rope: {like: low-stretch 10.5, length: 60 m}}
people: {climber: {mass: 90 kg, technique: normal, start: 12 m}}
options:
  padded: {anchor: post, rope: rope, protect: {kerb: pad, flange: sleeve, ledge: pad}}
job: [{ascend: 1.5 m}, {descend: 1 m}]
"""

SHIFTED = """\
edgewear: 1
title: Rope let out at the anchor again and again
setting: test
anchors: {post: {out: -1 m, up: 0.5 m, kind: pair, releasable: yes}}
edges: {rim: {out: 0 m, up: 0 m, radius: 30 mm, surface: steel}}
ropes: {line: {like: low-stretch 11, length: 60 m, stopper: yes}}
people: {ann: {mass: 90 kg}}
options: {shifted: {anchor: post, rope: line, shift: 0.4 m every 10 strokes, protect: {rim: pad}}}
job: [descend: 15 m, ascend: 15 m]
"""
TEXTS = {"one edge": ONE_EDGE, "three edges": THREE_EDGES, "let out": SHIFTED}


@pytest.mark.parametrize("travel", [0, 3, 200])
@pytest.mark.parametrize("text", TEXTS.values(), ids=TEXTS)
def test_many_at_a_time_is_one_by_one(text, travel, tmp_path, monkeypatch):
    path = tmp_path / "scenario.yaml"
    path.write_text(text)
    model = ScenarioModel.of(path, 5)
    option = model.options[0]
    ready = model.ready(option)
    assert section_of(ready.case, ready.tape) is not None
    count = 24
    rows = ComparePlan({option: drawn(ready.case.uncertainties)}, count, 5, 1.0).block(0, count)
    values = {name: column for name, column in rows.items() if name not in FIXED}
    arguments = (ready.case, ready.tape, values, rows["replicate"], 5, travel)
    slow, slow_edges = one_by_one(monkeypatch, *arguments)
    fast, none = play_batch(*arguments, edges=False)
    both, fast_edges = play_batch(*arguments, edges=True)
    assert none.size == 0
    assert_the_same(fast, slow)
    assert_the_same(both, slow)
    assert_the_same(fast_edges, slow_edges)
    assert np.unique(slow["sheath_demand_max"]).size == count
    assert (slow_edges["mark_travel_p50_m"] > 0.0).any() == (travel > 0)
    assert np.isfinite(slow_edges["flash_temperature_c"]).any()


@pytest.mark.parametrize("step", [2, 4])
@pytest.mark.parametrize("text", [ONE_EDGE, THREE_EDGES], ids=["one edge", "three edges"])
def test_a_rope_used_up_is_told_with_its_step(text, step, tmp_path, monkeypatch):
    path = tmp_path / "scenario.yaml"
    path.write_text(text)
    model = ScenarioModel.of(path, 5)
    ready = model.ready(model.options[0])
    down = int(np.flatnonzero(ready.tape["kind"] == Kind.PAYOUT)[0])
    tape = ready.tape[: down + 1].copy()
    tape["length_m"][down], tape["step"][down] = 200.0, step  # of a rope of 60 m
    values = {"edges/arris/friction": np.full(9, np.nan)}
    arguments = (ready.case, tape, values, np.arange(9), 5, 3)
    slow, slow_edges = one_by_one(monkeypatch, *arguments)
    fast, fast_edges = play_batch(*arguments, edges=True)
    assert (slow["unfinished_step"] == step).all()
    assert_the_same(fast, slow)
    assert_the_same(fast_edges, slow_edges)


@pytest.mark.parametrize("edges", [False, True])
def test_a_run_with_more_strokes_than_drawn_is_played_alone(edges, tmp_path, monkeypatch):
    monkeypatch.setattr("edgewear.engine.fast.SPARE_STROKES", 0.01)
    path = tmp_path / "scenario.yaml"
    path.write_text(ONE_EDGE)
    model = ScenarioModel.of(path, 5)
    ready = model.ready("bare")
    many = ready.tape.copy()
    many["length_m"] *= 9
    many["depth_m"][many["kind"] == Kind.LOAD] += 20.0  # below the edge all the way
    values = {
        "techniques/jerky/rise": np.array([0.1, 0.4]),
        "techniques/jerky/sit back": np.array([0.05, 0.1]),
    }
    arguments = (ready.case, many, values, np.arange(2), 5, 50)
    slow, slow_edges = one_by_one(monkeypatch, *arguments, edges=edges)
    fast, fast_edges = play_batch(*arguments, edges=edges)
    assert_the_same(fast, slow)
    assert_the_same(fast_edges, slow_edges)
    assert slow["strokes"][0] > STROKES_A_BLOCK


def test_a_tape_on_two_sections_is_played_one_by_one(tmp_path):
    path = tmp_path / "scenario.yaml"
    path.write_text(ONE_EDGE)
    ready = ScenarioModel.of(path, 5).ready("bare")
    tape = ready.tape.copy()
    assert section_of(ready.case, tape) == 0
    tape["line"][-1] = 1
    assert section_of(ready.case, tape) is None
    tape["line"][-1], tape["cut_ticks"][0] = 0, 5
    assert section_of(ready.case, tape) is None


@pytest.mark.parametrize("name", ["machine-bench", "two-lines-re-anchored"])
def test_chunks_are_for_a_device_where_it_plays_every_option(tmp_path, name):
    text = (SHIPPED / f"{name}.yaml").read_text("utf-8").partition("\nstudy:")[0]
    sample = "\nstudy: {sample: {method: sobol, rows: 1048576, over: [friction]}, seed: 1}\n"
    (tmp_path / "study.yaml").write_text(text + sample, "utf-8")
    model, declared = declared_in(tmp_path / "study.yaml", edges=False)
    plain, other = (
        prepared(replace(model, device=device), declared, inline()).plan
        for device in ("cpu", "cuda")
    )
    assert other.on_device == (name == "machine-bench")
    assert plain.chunk_rows < LEAST_ROWS_ON_A_DEVICE
    whole = chunk_rows_on_a_device(other.rows)
    assert other.chunk_rows == (whole if other.on_device else plain.chunk_rows)
    assert chunk_rows_on_a_device(1) == LEAST_ROWS_ON_A_DEVICE
    assert chunk_rows_on_a_device(10**9) == MOST_ROWS_ON_A_DEVICE
