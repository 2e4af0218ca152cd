"""Faults, a sweep and its replay, and the longer self-checks, by the command line.

One of each is a process of its own; the others are called here.
"""

from __future__ import annotations

import fcntl
import json
import shutil
import subprocess
from functools import partial
from pathlib import Path

import jsonschema
import pytest
from typer.testing import CliRunner

from edgewear.cautions import WEAR_AGREES
from edgewear.cli.commands import app
from edgewear.validation.observations import observations
from support import schemas
from support.jobs import MEASURED, PROCEDURE, STUDY
from support.shell import called, edgewear


def test_faults_have_the_keys_that_scripts_expect(tmp_path: Path) -> None:
    (tmp_path / "procedure.yaml").write_text(PROCEDURE)
    done = edgewear(
        "faults", "procedure.yaml", "--replicates", "2", "--workers", "1", "--json",
        "--picture", "worst.svg", "--no-remedy", folder=tmp_path,
    )  # fmt: skip
    document = json.loads(done.stdout)
    assert done.returncode == (3 if document["verdict"]["fails"] else 0), done.stderr
    jsonschema.validate(document, schemas.FAULTS)
    assert ["pad slips"] in [fault["names"] for fault in document["faults"]]
    assert "<svg" in (tmp_path / "worst.svg").read_text()
    assert {path.name for path in tmp_path.iterdir()} == {"procedure.yaml", "worst.svg"}


def test_faults_write_page_and_tables_where_they_are_told_to(tmp_path: Path) -> None:
    (tmp_path / "procedure.yaml").write_text(PROCEDURE)
    done = called(
        "faults", "procedure.yaml", "--replicates", "1", "--workers", "1", "--out", "out",
        "--no-remedy", folder=tmp_path,
    )  # fmt: skip
    assert done.returncode in (0, 3), done.stderr
    assert done.stdout.rstrip().endswith("page     out/faults.html")
    assert "If one thing failed" in (tmp_path / "out" / "faults.html").read_text()
    assert (tmp_path / "out" / "single-failures.csv").read_text("utf-8-sig").startswith("person,")


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
    assert called("sweep", "--verify", "out", folder=tmp_path).returncode == 0
    plan = tmp_path / "out" / "plan.parquet"
    plan.write_bytes(plan.read_bytes()[:-1] + b"x")
    damaged = called("sweep", "--verify", "out", folder=tmp_path)
    assert damaged.returncode == 74
    assert "plan.parquet" in damaged.stderr


def test_a_dry_run_writes_nothing(tmp_path: Path) -> None:
    (tmp_path / "study.yaml").write_text(STUDY)
    done = called("sweep", "study.yaml", "--dry-run", "--json", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["rows"] == 8
    assert [path.name for path in tmp_path.iterdir()] == ["study.yaml"]


@pytest.mark.parametrize("words", [("--full",), ("--verify", "--compile")])
def test_a_self_check_that_cannot_be_meant_ends_with_2(words: tuple[str, ...]) -> None:
    assert called("self-check", *words).returncode == 2


def test_the_equations_are_shown_beside_their_exact_answers() -> None:
    done = called("self-check", "--verify", "--json")
    document = json.loads(done.stdout)
    assert document["schema"] == "edgewear.verify/1"
    assert len(document["checks"]) >= 25
    for check in document["checks"]:
        assert {"name", "source", "error", "tolerance", "ok"} <= check.keys()
        assert check["ok"] == (check["error"] <= check["tolerance"])
    assert done.returncode == (0 if all(check["ok"] for check in document["checks"]) else 1)


def check_observations(document: dict, code: int) -> None:
    """Hold what `self-check --observations` prints to what scripts and the page expect."""
    assert document["schema"] == "edgewear.observations/1"
    assert {row["name"][:2] for row in document["observations"]} == {
        *(f"T{k}" for k in range(1, 9)), *(f"B{k}" for k in range(1, 5)),
    }  # fmt: skip
    assert code == (0 if all(row["ok"] for row in document["observations"]) else 1)
    assert document["summary"] == WEAR_AGREES


def test_the_observations_are_shown_with_few_draws(monkeypatch: pytest.MonkeyPatch) -> None:
    few = partial(observations, draws=48)  # whether the intervals reach is far from the edge
    monkeypatch.setattr("edgewear.validation.observations.observations", few)
    done = CliRunner().invoke(app, ["self-check", "--observations", "--json"])
    check_observations(json.loads(done.stdout), done.exit_code)


@pytest.mark.long
def test_the_observations_are_shown_and_the_page_says_the_same_of_them() -> None:
    done = edgewear("self-check", "--observations", "--json")
    check_observations(json.loads(done.stdout), done.returncode)


def test_what_was_measured_on_site_corrects_and_is_counted_on_the_page(tmp_path: Path) -> None:
    (tmp_path / "site.yaml").write_text(MEASURED)
    done = edgewear("observe", "site.yaml", "--replicates", "256", "--json", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    document = json.loads(done.stdout)
    assert document["schema"] == "edgewear.observe/1"
    travel, bounce = document["observed"]
    assert travel["agrees"] == (
        travel["forecast"]["p5"] <= travel["read"][0] <= travel["forecast"]["p95"]
    )
    assert document["agrees_with"] == travel["agrees"] + bounce["agrees"]
    page = (tmp_path / document["report"]).read_text()
    assert f"agrees with {document['agrees_with']} of 2 observations made here" in page
    assert WEAR_AGREES in page


def test_a_reading_that_no_trial_comes_near_gives_the_forecast_up(tmp_path: Path) -> None:
    fast = MEASURED.replace("count: 12", "count: 500")  # nobody bounces fifty times a second
    (tmp_path / "site.yaml").write_text(fast)
    done = called("observe", "site.yaml", "--replicates", "32", "--json", folder=tmp_path)
    document = json.loads(done.stdout)
    assert not document["holds"]
    assert document["report"] is None
    assert "no trial comes near it" in document["observed"][1]["words"]
    assert document["headline"].startswith("The forecast does not hold here")


STOPS = {
    "no trial near it": MEASURED.replace("count: 12", "count: 500"),
    "a core that shows": MEASURED + "  - inspection: {edge: arris, seen: core visible}\n",
    "a mark beyond its stop value": MEASURED.replace("strokes: [5 mm]", "strokes: [3 m]"),
}


@pytest.fixture(scope="module")
def corrected_before(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder in which a forecast was corrected, with a note that somebody put beside it."""
    folder = tmp_path_factory.mktemp("corrected")
    (folder / "site.yaml").write_text(MEASURED)
    done = observed(folder)
    assert done.returncode == 0, done.stderr
    assert (folder / "out" / "observed" / "report.html").is_file()
    for note in ("note.txt", "cards/mine.html", "pictures/mine.svg"):
        (folder / "out" / "observed" / note).write_text("mine")
    return folder


def observed(folder: Path, *more: str) -> subprocess.CompletedProcess[str]:
    words = ("--replicates", "256", "--workers", "1", "--out", "out", *more)
    return called("observe", "site.yaml", *words, folder=folder)


@pytest.mark.parametrize("more", [(), ("--json", "--quiet")])
@pytest.mark.parametrize("why", STOPS)
def test_nothing_that_was_corrected_before_outlasts_a_stop(
    why: str, more: tuple[str, ...], corrected_before: Path, tmp_path: Path
) -> None:
    shutil.copytree(corrected_before, tmp_path, dirs_exist_ok=True)
    (tmp_path / "site.yaml").write_text(STOPS[why])
    done = observed(tmp_path, *more)
    assert done.returncode == 1, done.stderr
    assert "removed what an earlier run had corrected here" in done.stderr
    below = tmp_path / "out" / "observed"
    left = {str(path.relative_to(below)) for path in below.rglob("*") if path.is_file()}
    assert left == {"note.txt", "cards/mine.html", "pictures/mine.svg"}
    assert "removed" not in observed(tmp_path, *more).stderr


def test_a_stop_removes_nothing_behind_a_link_and_is_said_all_the_same(
    corrected_before: Path, tmp_path: Path
) -> None:
    shutil.copytree(corrected_before, tmp_path, dirs_exist_ok=True)
    elsewhere = tmp_path / "elsewhere"
    (tmp_path / "out" / "observed").rename(elsewhere)
    (tmp_path / "out" / "observed").symlink_to(elsewhere)
    (tmp_path / "site.yaml").write_text(STOPS["a core that shows"])
    done = observed(tmp_path)
    assert done.stdout.startswith("Stop the work.")
    assert done.returncode == 73
    assert (elsewhere / "report.html").is_file()
    assert (elsewhere / "cards" / "option-1.html").is_file()


def test_nothing_observed_is_an_error(tmp_path: Path) -> None:
    (tmp_path / "site.yaml").write_text(MEASURED[: MEASURED.index("observed:")])
    done = called("observe", "site.yaml", folder=tmp_path)
    assert done.returncode == 65
    assert "nothing was observed" in done.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["site.yaml"]


@pytest.mark.parametrize("command", ["compare", "sweep", "observe"])
def test_a_folder_that_another_process_writes_to_ends_with_75(command: str, tmp_path: Path) -> None:
    (tmp_path / "file.yaml").write_text(STUDY if command == "sweep" else MEASURED)
    words = (command, "file.yaml", "--out", "out", "--workers", "1")
    lock = tmp_path / "out" / "log" / "lock"
    lock.parent.mkdir(parents=True)
    with lock.open("w") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        done = called(*words, folder=tmp_path)
    assert done.returncode == 75
    assert "another process writes to this folder now" in done.stderr
    assert "Traceback" not in done.stderr
    assert {path.name for path in (tmp_path / "out").iterdir()} == {"log"}
