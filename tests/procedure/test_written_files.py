"""What `faults` writes it names, however quiet it is asked to be."""

from __future__ import annotations

from itertools import product
from pathlib import Path

import pytest

from support.shell import called

JOB = """\
edgewear: 1
title: one rope over one edge
setting: test
target: 60 %
edges: {arris: {radius: 5 mm, surface: steel}}
ropes: {rope: {like: low-stretch 11, length: 40 m, stopper: yes}}
people: {ann: {mass: 90 kg, start: 8 m}}
options: {one: {rope: rope, over: [{edge: arris, after: 5 m, bend: 50 deg}]}}
job: [{ascend: 2 m}]
"""
WRITTEN = {"audit": "--audit", "picture": "--picture", "page": "--out"}
ASKED = list(product([False, True], repeat=3))


@pytest.mark.parametrize("asked", ASKED, ids=str)
@pytest.mark.parametrize("quiet", [False, True])
def test_faults_names_every_file_that_it_wrote(asked, quiet: bool, tmp_path: Path) -> None:
    (tmp_path / "job.yaml").write_text(JOB)
    words = ["faults", "job.yaml", "--replicates", "2", "--workers", "1", "--no-remedy"]
    files = {
        what: "out" if what == "page" else f"{what}.{'html' if what == 'audit' else 'svg'}"
        for what, wanted in zip(WRITTEN, asked, strict=True)
        if wanted
    }
    for what, file in files.items():
        words += [WRITTEN[what], file]
    done = called(*words, *["--quiet"] * quiet, folder=tmp_path)
    told = done.stdout.splitlines()
    for what in WRITTEN:
        named = [line.split(maxsplit=1)[1] for line in told if line.startswith(f"{what:<9}")]
        assert len(named) == (what in files)
        assert all((tmp_path / name).is_file() for name in named)
    if quiet:
        assert done.stderr == ""
