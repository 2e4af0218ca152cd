"""What a comparison tells of a line whose rope is swapped during the job, in record and report."""

from __future__ import annotations

from pathlib import Path

import pytest

from edgewear.dataset.reading import open_dataset
from edgewear.dataset.rope_wear import line_wear
from edgewear.errors import UsageError
from edgewear.report.write import write_report
from edgewear.study.compare import compare

TEXT = """\
edgewear: 1
title: a rope that is swapped when it is worn
setting: test
target: 70 %
edges: {{arris: {{radius: 2 mm, surface: concrete}}}}
ropes:
  rope: {{like: low-stretch 11, length: 60 m, stopper: yes}}
people: {{ann: {{mass: 95 kg, technique: jerky, start: 30 m}}}}
options:
  one:
    rope: rope
    over: [{{edge: arris, after: 15 m, bend: 70 deg}}]
    safety line: {{rope: rope, over: [{{edge: arris, after: 15 m, bend: 10 deg}}]}}
job: [{job}]
"""
LAST = "Of a line whose rope was swapped: its last rope alone."
WORKING = "working line"


def compared(root: Path, job: str) -> Path:
    """The dataset of a comparison of a few trials."""
    (root / "job.yaml").write_text(TEXT.format(job=job))
    compare(root / "job.yaml", 4, 0, workers=1, out=root / "out")
    return root / "out"


@pytest.mark.parametrize("further", ["rest: 1 min", "ascend: 2 m", "descend: 2 m"])
@pytest.mark.parametrize("swap", [True, False])
def test_of_a_swapped_line_the_record_enters_nothing_and_the_page_says_whose_wear_it_draws(
    tmp_path: Path, further: str, swap: bool
) -> None:
    """A last rope that wears nothing is in no table, which is no reason to know of no such line."""
    steps = ["ascend: 3 m", *["swap rope"] * swap, further]
    dataset = compared(tmp_path, ", ".join(steps))
    write_report([dataset], tmp_path / "page")
    assert (LAST in (tmp_path / "page" / "report.md").read_text()) == swap
    if not swap:
        assert line_wear(open_dataset(dataset), "one", WORKING).demand.max() > 0.0
        return
    for line in (None, WORKING):
        with pytest.raises(UsageError, match=r"swapped during this job.* with --job instead"):
            line_wear(open_dataset(dataset), "one", line)
