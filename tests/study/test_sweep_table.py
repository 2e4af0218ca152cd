"""A study whose rows are typed in a table, in csv or in parquet."""

from __future__ import annotations

import csv

import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from edgewear.errors import ScenarioError
from edgewear.study.sweeping.prepared import prepare
from edgewear.study.sweeping.sweep import sweep
from edgewear.study.worker_pool import Inline
from support.sweeps import rows_of


def test_a_table_in_csv_and_in_parquet_gives_the_same_rows(write, tmp_path):
    header = ["options", "people/climber/mass", "edges/arris/radius", "people/climber/technique"]
    rows = [["bare", 71.5, "1 mm", "jerky"], ["sleeve", 84.25, "2 mm", "smooth"]]
    with (tmp_path / "runs.csv").open("w", newline="") as stream:
        csv.writer(stream).writerows([header, *rows])
    pq.write_table(
        pa.table(dict(zip(header, zip(*rows, strict=True), strict=True))), tmp_path / "runs.parquet"
    )
    for kind in ("csv", "parquet"):
        sweep(
            write(f"study: {{table: runs.{kind}, seed: 1}}\n"), tmp_path / kind, executor=Inline()
        )
    one, other = rows_of(tmp_path / "csv"), rows_of(tmp_path / "parquet")
    assert one.equals(other)
    assert one["option"].tolist() == ["bare", "sleeve"]
    assert one["people/climber/mass"].tolist() == [71.5, 84.25]
    assert one["edges/arris/radius"].tolist() == [0.001, 0.002]


@pytest.mark.parametrize(
    ("rows", "message"),
    [
        (
            "options,people/climber/mass\nbare,7\n\nbare,x\n",
            "4:6: people/climber/mass: 'x' does not",
        ),
        ("options,people/climber/mass\nbare,7\nbore,70\n", "3:1: options: 'bore' is not defined"),
        ('options,"people/climbr/mass"\nbare,70\n', "1:9: people/climbr/mass: leads nowhere"),
        ("options,people/climber/mass\nbare,70 kg\nbare,70 mm\n", "3:6: .*a mass is due, in kg"),
        ("options,people/climber/mass\nbare,70\nbare,-5\n", "3:6: .*must be above 0 kg"),
        ("options,people/climber/mass\nbare,inf\n", "2:6: .*not a finite number"),
        ("options,people/climber/mass,options\nbare,70,bare\n", "1:1: options: two columns"),
        ("options,people/climber/mass\nbare,70,3\n", "2:1: 3 cells under 2 headings"),
        ("options,people/climber/mass\n", "no rows"),
    ],
)
def test_a_table_that_cannot_be_used_is_said_so(rows, message, write, tmp_path):
    (tmp_path / "runs.csv").write_text(rows)
    with pytest.raises(ScenarioError, match=rf"runs\.csv:.*{message}"):
        prepare(write("study: {table: runs.csv}\n"))


def test_every_bad_cell_of_a_table_is_told_at_once(write, tmp_path):
    (tmp_path / "runs.csv").write_text(
        "options,people/climber/mass,edges/arris/radius\nbare,70 mm,1 mm\nbore,70 kg,2 kg\n"
    )
    with pytest.raises(ScenarioError) as told:
        prepare(write("study: {table: runs.csv}\n"))
    assert [(p.line, p.column, p.address) for p in told.value.problems] == [
        (2, 6, "people/climber/mass"),
        (3, 1, "options"),
        (3, 12, "edges/arris/radius"),
    ]


def test_a_bad_cell_of_a_parquet_table_is_told_by_its_row(write, tmp_path):
    columns = {"options": ["bare", "bare"], "people/climber/mass": ["70 kg", "70 mm"]}
    pq.write_table(pa.table(columns), tmp_path / "runs.parquet")
    with pytest.raises(ScenarioError, match="people/climber/mass: row 2: '70 mm' is a length"):
        prepare(write("study: {table: runs.parquet}\n"))
