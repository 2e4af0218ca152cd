"""A dataset that somebody sent is read, or refused in words: whatever its files are."""

from __future__ import annotations

import os
import random
import shutil
import subprocess
import sys
from pathlib import Path

import pyarrow.parquet as pq
import pytest

from edgewear.dataset.files import PARQUET
from edgewear.dataset.reading import open_dataset
from edgewear.dataset.tables import due, read_table
from edgewear.errors import DatasetError
from fuzz import crafted
from support.studies import bytes_of


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return crafted.made(tmp_path_factory.mktemp("sent") / "made")


@pytest.mark.parametrize("way", crafted.WAYS)
def test_a_table_spoilt_and_signed_is_read_or_refused(
    way: str, whole: Path, tmp_path: Path
) -> None:
    names = [f.path for f in open_dataset(whole).manifest.files if f.path.endswith(".parquet")]
    (tmp_path / "beside").write_text("mine")
    rng = random.Random(way)
    for name in rng.sample(names, 2):
        root = tmp_path / "dataset"
        shutil.copytree(whole, root)
        crafted.WAYS[way](root, name, rng)
        crafted.sign(root)
        before = bytes_of(root)
        found = crafted.fell(root, but=("report", "deposit"))
        assert found == "", name
        assert bytes_of(root) == before
        shutil.rmtree(root)
    assert (tmp_path / "beside").read_text() == "mine"


REFUSED = ("no text", "nulls", "dictionaries", "a long run", "cut", "junk", "encrypted")


@pytest.mark.parametrize("way", REFUSED)
def test_what_no_study_writes_is_refused_by_the_name_of_its_file(
    way: str, whole: Path, tmp_path: Path
) -> None:
    root, name = tmp_path / "dataset", "runs/part-000000.parquet"
    shutil.copytree(whole, root)
    crafted.WAYS[way](root, name, random.Random(1))
    crafted.sign(root)
    with pytest.raises(DatasetError, match=name):
        open_dataset(root).runs()


def test_runs_of_others_are_not_taken_for_one_s_own(whole: Path, tmp_path: Path) -> None:
    """Ids repeated, out of their order, of another part: their margins would count for others."""
    path = tmp_path / "t.parquet"
    table = pq.read_table(whole / "runs/part-000000.parquet", partitioning=None)
    count = table.num_rows
    for rows in ([*range(1, count), 0], [0, *range(count - 1)], [0] * count):
        pq.write_table(table.take(rows), path, **PARQUET)
        with pytest.raises(DatasetError, match="is not of the runs"):
            read_table(tmp_path, path.name, due("runs", count, 0, count))
    pq.write_table(table, path, **PARQUET)
    with pytest.raises(DatasetError, match="is not of the runs"):
        read_table(tmp_path, path.name, due("runs", count, count, count))


def test_a_table_of_more_memory_than_it_may_take_is_not_unpacked(
    whole: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The limit is set to what the table takes at least, 8 bytes a number, less one."""
    table = open_dataset(whole).wear()
    least = sum(
        8 * len(c) for c, f in zip(table, table.schema, strict=True) if str(f.type) == "double"
    )
    monkeypatch.setattr("edgewear.dataset.tables.MOST_AT_ONCE", least - 1)
    with pytest.raises(DatasetError, match="bytes once unpacked"):
        open_dataset(whole).wear()


def test_a_plan_whose_rows_lie_elsewhere_is_not_played_again(whole: Path, tmp_path: Path) -> None:
    root = tmp_path / "dataset"
    shutil.copytree(whole, root)
    crafted.WAYS["many groups"](root, "plan.parquet", random.Random(1))
    crafted.sign(root)
    with pytest.raises(DatasetError, match=r"plan\.parquet"):
        crafted.replayed(root)


@pytest.mark.parametrize("seed", [500_614, 501_120, 502_426, 502_816])
def test_no_file_is_spoilt_twice(seed: int, whole: Path, tmp_path: Path) -> None:
    """Seeds of two spoilt texts: the second reading of what was JSON or UTF-8 once fell."""
    told = crafted.crafted(whole, tmp_path / "dataset", random.Random(seed))
    first, second = (one.partition(":")[0] for one in told.split("; "))
    assert first != second


@pytest.mark.long
@pytest.mark.parametrize("first", range(0, 10_000, 250))
def test_ten_thousand_crafted_datasets(first: int) -> None:
    """In a process that may not grow by more than 1 GiB."""
    env = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    told = subprocess.run(
        [sys.executable, "-m", "fuzz.counts", "crafted", str(first), "250"],
        capture_output=True, text=True, env=env, check=False,
    )  # fmt: skip
    assert (told.returncode, told.stdout) == (0, ""), told.stderr[-2_000:]
