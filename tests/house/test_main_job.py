"""The main job from end to end, through the real command."""

from __future__ import annotations

import hashlib
import io
import json
import re
import shutil
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from edgewear.dataset.reading import open_dataset
from edgewear.report.terminal.comparison import print_ranking
from edgewear.report.terminal.console import display_width
from edgewear.report.write import read
from support import schemas
from support.shell import edgewear
from support.tree import ROOT

DEMO = ROOT / "scenarios" / "demo.yaml"
TRIALS = "8"  # enough for percentiles that differ; the claims below hold for any number

TWINS = """
edgewear: 1
title: One way of rigging under two names
setting: test
target: 70 %
edges:
  arris: {radius: 2 mm, surface: steel}
ropes:
  rope: {like: low-stretch 11, length: 40 m}
people:
  climber: {mass: 90 kg, technique: normal, system: pre-threaded}
options:
  one:   {rope: rope, over: [{edge: arris, after: 12 m, bend: 40 deg}], protect: {arris: pad}}
  other: {rope: rope, over: [{edge: arris, after: 12 m, bend: 40 deg}], protect: {arris: pad}}
job:
  - ascend: 4 m
when: {core visible: carry on}
"""


PROGRESS = re.compile(r"^\d+ of \d+ runs.*\n", re.MULTILINE)
"""What a slow machine is told of a comparison on its way."""


def compared(file: Path, out: Path, *more: str) -> tuple[dict[str, Any], dict[str, str]]:
    """Document of a comparison, and the sha256 of every file it wrote outside its log."""
    done = edgewear("compare", file, "--json", "--replicates", TRIALS, "--out", out, *more)
    assert done.returncode == 0, done.stderr
    assert PROGRESS.sub("", done.stderr) == ""
    return json.loads(done.stdout), digests(out)


def digests(folder: Path) -> dict[str, str]:
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.relative_to(folder).parts[0] != "log"
    }


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Any:
    out = tmp_path_factory.mktemp("demo") / "out"
    return (*compared(DEMO, out, "--workers", "1"), out)


@pytest.fixture(scope="module")
def reseeded(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """Folder of a comparison with another seed, and what is printed for people."""
    out = tmp_path_factory.mktemp("reseeded") / "out"
    done = edgewear("compare", DEMO, "--replicates", TRIALS, "--out", out, "--seed", "1")
    assert done.returncode == 0, done.stderr
    return out, done.stdout


def test_the_comparison_has_the_keys_that_scripts_expect(demo: Any) -> None:
    jsonschema.validate(demo[0], schemas.COMPARE)


def test_places_are_counted_and_ranks_stand_first(demo: Any) -> None:
    options = demo[0]["options"]
    orders = [option["order"] for option in options]
    ranks = [option["rank"] for option in options if option["rank"] is not None]
    assert orders == sorted(orders)
    assert orders[0] == 1
    assert ranks == sorted(ranks)
    assert [o["rank"] for o in options[: len(ranks)]] == ranks, "a rank below one without"
    may_be_chosen = [
        "meets target" in o["status"] and "no room for a catch" not in o["status"] for o in options
    ]
    assert may_be_chosen == [option["rank"] is not None for option in options]
    assert sum(o["p_best"] for o in options if o["p_best"] is not None) == pytest.approx(1.0)


def test_page_and_dataset_are_where_the_document_says(demo: Any) -> None:
    document, files, out = demo
    assert Path(document["dataset"]) == out
    assert Path(document["report"]) == out / "report.html"
    assert {"manifest.json", "scenario.yaml", "scenario.json", "plan.parquet"} <= set(files)
    assert any(name.startswith("runs/part-") for name in files)
    assert any(name.startswith("edges/part-") for name in files)
    assert {f"nominal/{table}.parquet" for table in ("events", "wear", "timeline")} <= set(files)
    assert (out / "scenario.yaml").read_bytes() == DEMO.read_bytes()


def test_the_terminal_tells_the_demo_on_one_page_of_eighty_columns(demo: Any) -> None:
    stream = io.StringIO()
    print_ranking(read(demo[2]).ranking, stream)
    lines = stream.getvalue().splitlines()
    assert len(lines) <= 66  # a printed page: six lines to the inch, eleven inches
    assert max(map(display_width, lines)) <= 80
    names = [option["name"] for option in demo[0]["options"]]
    assert all(any(name in line for line in lines[:22]) for name in names), "the table is first"


def test_the_page_asks_nothing_of_the_world(demo: Any) -> None:
    page = (demo[2] / "report.html").read_text()
    assert "<svg" in page
    assert not any(f'{attribute}="http' in page for attribute in ("src", "href", "action"))


def test_the_same_seed_gives_the_same_bytes_for_any_number_of_workers(
    demo: Any, tmp_path: Path
) -> None:
    document, files, out = demo
    again, others = compared(DEMO, tmp_path / "out", "--workers", "2")
    moved = json.loads(json.dumps(again).replace(str(tmp_path / "out"), str(out)))
    assert moved == document
    assert others == files


def test_another_seed_gives_other_numbers(demo: Any, reseeded: Any) -> None:
    _, files, ours = demo
    out, _ = reseeded
    here, there = (open_dataset(one).runs().to_pandas()["sheath_demand_max"] for one in (ours, out))
    assert len(here) == len(there)
    assert not here.equals(there)
    others = digests(out)
    assert others["plan.parquet"] != files["plan.parquet"]
    assert others["scenario.yaml"] == files["scenario.yaml"]


def test_the_report_again_is_the_same_report(demo: Any, tmp_path: Path) -> None:
    _, files, out = demo
    copy = tmp_path / "copy"
    shutil.copytree(out, copy)
    (copy / "report.html").unlink()
    done = edgewear("report", copy, "--json")
    assert done.returncode == 0, done.stderr
    page = Path(json.loads(done.stdout)["report"])
    assert page == copy / "report.html"
    assert hashlib.sha256(page.read_bytes()).hexdigest() == files["report.html"]


def test_a_run_has_the_keys_that_scripts_expect() -> None:
    names = [
        o["name"]
        for o in json.loads(edgewear("check", "--json", DEMO).stdout)["scenarios"][0]["options"]
    ]
    for words in ((), ("--option", names[-1])):
        done = edgewear("run", DEMO, "--json", *words)
        assert done.returncode == 0, done.stderr
        document = json.loads(done.stdout)
        jsonschema.validate(document, schemas.RUN)
        assert document["option"] == (words[1] if words else names[0])
        assert document["energy_residual"] <= 1e-4, "the bound that every run is held to"


def test_a_run_of_an_option_that_is_not_there_ends_with_2() -> None:
    done = edgewear("run", DEMO, "--option", "by rocket")
    assert done.returncode == 2
    assert "by rocket" in done.stderr
    assert "Traceback" not in done.stderr


def test_one_way_of_rigging_under_two_names_shares_its_place(tmp_path: Path) -> None:
    file = tmp_path / "twins.yaml"
    file.write_text(TWINS)
    options = {o["name"]: o for o in compared(file, tmp_path / "out")[0]["options"]}
    one, other = options["one"], options["other"]
    assert one["p_best"] == other["p_best"] == 0.5
    assert one["order"] == other["order"] == 1
    assert one["rank"] == other["rank"]
    assert one["margin"] == other["margin"]


def test_the_table_is_plain_when_piped(reseeded: Any) -> None:
    out, printed = reseeded
    assert "\x1b" not in printed
    assert max(map(len, printed.splitlines())) <= 80 + len(str(out.parent))
    assert "projection, not permission" in " ".join(printed.split())
    for name in ("footings, padded", "posts, rollers"):
        assert name in printed


def test_a_place_that_cannot_be_a_folder_ends_with_73(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file")
    done = edgewear("compare", DEMO, "--replicates", "2", "--out", "taken", folder=tmp_path)
    assert done.returncode == 73
    assert "taken" in done.stderr
    assert "Traceback" not in done.stderr
    assert (tmp_path / "taken").read_text() == "a file"
