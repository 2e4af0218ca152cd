"""Every row of a sweep again, with what happened, the wear and the course of it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pyarrow.parquet as pq
import pytest

from edgewear import records
from edgewear.dataset.reading import open_dataset
from edgewear.errors import UsageError
from edgewear.layout import TICK_S
from edgewear.study.replay import replay
from edgewear.study.sweeping.sweep import sweep
from edgewear.study.worker_pool import Inline
from support.studies import SLEEVE as BASE
from support.sweeps import GRID, SAMPLE


def test_replay_gives_every_row_again_bit_for_bit(write, tmp_path):
    sweep(write(SAMPLE), tmp_path / "out", executor=Inline())
    for run in (0, 5, 23, 47):
        again = replay(tmp_path / "out", run)
        assert (again.same, again.exact, again.differences) == (True, True, ())
        assert again.outcome["run"] == run
    with pytest.raises(UsageError, match="rows 0 to 47"):
        replay(tmp_path / "out", 48)


TWICE = BASE.replace("job: [{ascend: 1 m}]", "job: [{ascend: 1 m}, {descend: 1 m}, {ascend: 2 m}]")
"""Long enough on a 1 mm arris, with a sheath that takes little, for the core to show."""

WORN = """\
study:
  grid: {edges/arris/radius: [0.3 mm, 0.5 mm], people/climber/technique: [jerky, smooth]}
  sample: {method: sobol, rows: 2, over: [wear, body, technique]}
  seed: 3
"""


def test_replay_writes_what_happened_the_wear_and_the_course_of_a_row(write, tmp_path):
    sweep(write(WORN, TWICE), tmp_path / "out", executor=Inline())
    runs = open_dataset(tmp_path / "out").runs(["core_visible_time_s"]).to_pydict()
    seen = np.flatnonzero(np.isfinite(runs["core_visible_time_s"]))
    never = np.flatnonzero(~np.isfinite(runs["core_visible_time_s"]))
    for run in (int(seen[0]), int(never[0])):
        again = replay(tmp_path / "out", run, tmp_path / "traces")
        assert again.same
        events, wear, course = (pd.read_parquet(path) for path in again.traces)
        assert [Path(path).name for path in again.traces] == [
            f"{name}-{run}.parquet" for name in ("events", "wear", "timeline")
        ]
        outcome = again.outcome
        # the worst cell of the profile is the row's demand, read by two summations of one field
        assert wear["demand"].max() == pytest.approx(outcome["sheath_demand_max"], rel=1e-9)
        # the course has a step's end as its last stage foresaw it, the peak the next step's start:
        # they differ by what a step errs, 1e-5 at most
        assert course["tension_n"].max() <= outcome["peak_tension_n"] * (1 + 1e-5)
        assert course["time_s"].is_monotonic_increasing
        steps = events[events["what"].isin(["begins", "ends"])]
        assert steps["detail"].tolist() == [
            words for words in ("ascend 1 m", "descend 1 m", "ascend 2 m") for _ in range(2)
        ]
        assert events["tick"].is_monotonic_increasing
        # whole ticks of 0.1 ms
        assert steps["tick"].max() / 10_000 == pytest.approx(outcome["duration_s"], abs=1e-9)
        shown = events[events["what"] == "core visible"]
        assert len(shown) == (run in seen)
        if run in seen:
            assert shown["tick"].item() * TICK_S == outcome["core_visible_time_s"]
            assert shown["value"].item() == outcome["core_visible_ascended_m"]
            assert shown["step"].item() == outcome["core_visible_step"]
            assert shown["detail"].item() == outcome["worst_edge"]


def test_a_traced_row_keeps_the_units_of_its_columns(write, tmp_path):
    sweep(write(SAMPLE), tmp_path / "out", executor=Inline())
    again = replay(tmp_path / "out", 7, tmp_path / "traces")
    for path in map(Path, again.traces):
        columns = records.TABLES[path.name.partition("-")[0]]
        for field, column in zip(pq.read_schema(path), columns, strict=True):
            assert (field.name, field.metadata[b"unit"].decode()) == (column.name, column.unit)


def test_replay_says_what_differs(write, tmp_path, monkeypatch):
    sweep(write(GRID), tmp_path / "out", executor=Inline())
    from edgewear.study import replay as room

    true = room.playing

    def other(model, rows):
        outcome = true(model, rows)
        outcome.runs["slip_m"] *= 1 + 1e-12
        return outcome

    monkeypatch.setattr(room, "playing", other)
    found = replay(tmp_path / "out", 3)
    assert not found.same
    assert found.differences[0].startswith("slip_m: ")
    monkeypatch.setattr(room.manifests, "versions", lambda: {"edgewear": "other"})
    elsewhere = replay(tmp_path / "out", 3)
    assert (elsewhere.exact, elsewhere.same) == (False, True)
