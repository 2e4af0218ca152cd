"""Faults, a sweep and its replay, and the longer self-checks, through the real command."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

from house import schemas
from house.shell import edgewear

PROCEDURE = """
edgewear: 1
title: A pad that slips
setting: alpine
anchors:
  top: {out: -6 m, up: 0.5 m, kind: pair}
edges:
  arris: {out: 0 m, up: 0 m, is: worn masonry arris}
ropes:
  rope: {like: low-stretch 11, length: 40 m}
people:
  climber: {mass: 90 kg, technique: normal, system: pre-threaded}
options:
  it: {anchor: top, rope: rope, protect: {arris: pad}}
job:
  - cross edge: arris
  - descend: 6 m
  - ascend: 6 m
faults:
  pad slips: {protection displaced: arris, at: 2 min}
when: {core visible: stop}
"""

STUDY = """
edgewear: 1
title: Two masses
setting: test
edges:
  arris: {radius: 1 mm, surface: steel}
ropes:
  rope: {like: low-stretch 11, length: 40 m}
people:
  climber: {mass: 90 kg, technique: normal, system: pre-threaded}
options:
  bare: {rope: rope, over: [{edge: arris, after: 20 m, bend: 30 deg}]}
job:
  - ascend: 2 m
when: {core visible: carry on}
study:
  grid:
    people/climber/mass: {from: 70 kg, to: 110 kg, steps: 2}
  sample: {method: sobol, rows: 4, over: [friction]}
  seed: 7
"""


def test_faults_have_the_keys_that_scripts_expect(tmp_path: Path) -> None:
    (tmp_path / "procedure.yaml").write_text(PROCEDURE)
    done = edgewear(
        "faults", "procedure.yaml", "--replicates", "2", "--workers", "1", "--json",
        "--picture", "worst.svg", folder=tmp_path,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    document = json.loads(done.stdout)
    jsonschema.validate(document, schemas.FAULTS)
    assert ["pad slips"] in [fault["names"] for fault in document["faults"]]
    assert "<svg" in (tmp_path / "worst.svg").read_text()
    assert {path.name for path in tmp_path.iterdir()} == {"procedure.yaml", "worst.svg"}


def test_a_sweep_is_played_verified_and_replayed(tmp_path: Path) -> None:
    (tmp_path / "study.yaml").write_text(STUDY)
    done = edgewear("sweep", "study.yaml", "--out", "out", "--workers", "1", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    again = edgewear("replay", "out", "5", "--traces", "kept", "--json", folder=tmp_path)
    assert again.returncode == 0, again.stderr
    found = json.loads(again.stdout)
    assert found["traces"] == [f"kept/{name}-5.parquet" for name in ("events", "wear", "timeline")]
    assert all((tmp_path / path).is_file() for path in found["traces"])
    assert found["same"]
    assert found["exact"], "the same machine and versions"
    assert found["inputs"]["people/climber/mass"] in (70.0, 110.0)
    assert edgewear("sweep", "--verify", "out", folder=tmp_path).returncode == 0
    plan = tmp_path / "out" / "plan.parquet"
    plan.write_bytes(plan.read_bytes()[:-1] + b"x")
    damaged = edgewear("sweep", "--verify", "out", folder=tmp_path)
    assert damaged.returncode == 74
    assert "plan.parquet" in damaged.stderr


def test_a_dry_run_writes_nothing(tmp_path: Path) -> None:
    (tmp_path / "study.yaml").write_text(STUDY)
    done = edgewear("sweep", "study.yaml", "--dry-run", "--json", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["rows"] == 8
    assert [path.name for path in tmp_path.iterdir()] == ["study.yaml"]


@pytest.mark.parametrize("words", [("--full",), ("--verify", "--observations")])
def test_a_self_check_that_cannot_be_meant_ends_with_2(words: tuple[str, ...]) -> None:
    assert edgewear("self-check", *words).returncode == 2


def test_the_equations_are_shown_beside_their_exact_answers() -> None:
    done = edgewear("self-check", "--verify", "--json")
    document = json.loads(done.stdout)
    assert document["schema"] == "edgewear.verify/1"
    assert len(document["checks"]) >= 25
    for check in document["checks"]:
        assert {"name", "source", "error", "tolerance", "ok"} <= check.keys()
        assert check["ok"] == (check["error"] <= check["tolerance"])
    assert done.returncode == (0 if all(check["ok"] for check in document["checks"]) else 1)
