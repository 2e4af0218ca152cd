"""Ten million rows: laid out without holding them, and any stretch of them as if it stood alone."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from edgewear.study.sweeping.prepared import prepare
from edgewear.study.sweeping.sweep import dry_run
from edgewear.study.task import playing
from support.studies import SLEEVE

ROWS = 10_000_000
STUDY = f"""\
{SLEEVE}study:
  grid: {{options: [bare, sleeve]}}
  sample: {{method: latin hypercube, rows: 5000000, over: [friction, body]}}
  seed: 7
"""
OVER = 5_000_000
STRETCHES = 40
LONG_STRETCH = 2_000
PLAYED = 32


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "study.yaml"
    path.write_text(STUDY)
    return path


@pytest.mark.long
def test_any_stretch_of_ten_million_rows_is_planned_and_played(file: Path) -> None:
    ready = prepare(file)
    plan = ready.plan
    assert plan.rows == ROWS
    rng = np.random.default_rng(0)
    for first in map(int, rng.integers(0, ROWS - LONG_STRETCH, STRETCHES)):
        stretch = plan.block(first, LONG_STRETCH)
        assert stretch["run"].tolist() == list(range(first, first + LONG_STRETCH))
        at = int(rng.integers(0, LONG_STRETCH))
        alone = plan.block(first + at, 1)
        for name, column in alone.items():
            np.testing.assert_array_equal(column, stretch[name][at : at + 1])  # NaN equal
        around = {name: column[at : at + PLAYED] for name, column in stretch.items()}
        once, among = playing(ready.model, alone).runs, playing(ready.model, around).runs
        for name in once.dtype.names:
            np.testing.assert_array_equal(once[name], among[name][:1])
        assert once["status"][0] == "ok"


@pytest.mark.long
def test_no_two_rows_share_a_stratum_of_the_sample(file: Path) -> None:
    # a latin hypercube of n rows has one of them in each of n equal shares of every input
    design = prepare(file).plan.design
    assert design is not None
    starts = range(0, OVER, OVER // 25)
    for name in design.shares(0, 1):
        found = np.concatenate([design.shares(first, 4_000)[name] for first in starts])
        strata = np.floor(found * OVER).astype(np.int64)
        assert np.unique(strata).size == strata.size == 25 * 4_000
        assert strata.min() >= 0
        assert strata.max() < OVER


@pytest.mark.long
def test_what_ten_million_rows_would_take_is_told(file: Path) -> None:
    told = dry_run(file, workers=2)
    assert told.rows == ROWS
    assert told.chunks == -(-ROWS // told.rows_a_chunk)
    assert list(file.parent.iterdir()) == [file]
