"""A comparison of before, which lacks columns that came later, is read wherever one is."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pyarrow.parquet as pq
import pytest

from edgewear.dataset import manifest as manifests
from edgewear.dataset.files import write_table
from edgewear.dataset.ranking.model import Ranking
from edgewear.dataset.ranking.rank import ranking_of
from edgewear.dataset.reading import open_dataset
from edgewear.dataset.rope_wear import line_wear
from edgewear.python.results import Results
from edgewear.records import LATER
from edgewear.report.write import write_report
from edgewear.study.compare import compare
from edgewear.study.replay import replay
from support.boards import SMALL

TRIALS = 8


@pytest.fixture(scope="module")
def now(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A comparison as it is written today."""
    root = tmp_path_factory.mktemp("now")
    (root / "job.yaml").write_text(SMALL)
    compare(root / "job.yaml", TRIALS, 0, workers=1, out=root / "out")
    return root / "out"


CAME_LATER = tuple(LATER)
TABLES = ("edges/", "runs/", "nominal/wear", "nominal/timeline")


@pytest.fixture(params=[CAME_LATER, CAME_LATER[:1], CAME_LATER[1:], ("rope",)], ids=", ".join)
def before(now: Path, tmp_path: Path, request: pytest.FixtureRequest) -> Path:
    """The same without columns that came later, its manifest made anew."""
    root = shutil.copytree(now, tmp_path / "before")
    dataset = open_dataset(root)
    files = {file.path: file for file in dataset.manifest.files}
    for name in [name for name in files if name.startswith(TABLES)]:
        table = dataset.part(name)
        lacking = [column for column in request.param if column in table.column_names]
        files[name] = write_table(root, name, table.drop_columns(lacking))
    manifest = dataset.manifest
    manifests.write(root, manifest.closed(tuple(files.values()), manifest.failed))
    return root


def written(root: Path) -> list[str]:
    """Columns that the file itself has."""
    parts = (root / table / "part-000000.parquet" for table in ("edges", "runs"))
    return [name for part in parts for name in pq.read_schema(part).names]


def without_sideways(ranking: Ranking) -> list[dict[str, object]]:
    edges = [edge.as_json() for option in ranking.options for edge in option.edges]
    return [{k: v for k, v in edge.items() if k != "sideways_careful"} for edge in edges]


def test_it_comes_to_the_same_but_for_what_it_has_not_kept(now: Path, before: Path) -> None:
    is_now, was = (ranking_of(open_dataset(root)) for root in (now, before))
    assert without_sideways(was) == without_sideways(is_now)
    for option, other in zip(was.options, is_now.options, strict=True):
        assert (option.name, option.rank, option.status) == (other.name, other.rank, other.status)
        assert all(edge.sideways_careful is not None for edge in other.edges)
        kept = "sideways_demand" in written(before)
        assert all((edge.sideways_careful is not None) == kept for edge in option.edges)


def test_everything_that_reads_a_comparison_reads_it(before: Path, tmp_path: Path) -> None:
    write_report([before], tmp_path)
    assert (tmp_path / "report.html").is_file()
    assert replay(before, 0).differences == ()
    assert line_wear(open_dataset(before), "padded", "working line").demand.max() > 0.0
    found = Results.of(before)
    assert found.edges is not None
    for name, unknown in LATER.items():
        values = (found.edges if name in found.edges else found.runs)[name].to_numpy()
        lost = np.array_equal(values, np.full(values.shape, unknown), equal_nan=True)
        # no rope is used up here and no run fails, so neither is told today
        none = name in ("short_m", "times_allowed")
        assert lost == (none or name not in written(before))
