"""What the command line promises to scripts: streams, exit codes, nothing left behind."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest

from edgewear.validation.first_compile import FirstCompile
from edgewear.validation.self_check import EXTRAS, PACKAGES, SelfCheck
from support.shell import SCENARIOS, called, edgewear
from support.tree import ROOT

COMMANDS = [
    "check",
    "run",
    "compare",
    "report",
    "observe",
    "how-far",
    "what-matters",
    "faults",
    "propose",
    "board",
    "sweep",
    "deposit",
    "replay",
    "self-check",
    "learn",
]
FORECAST = "freeze enter score next side-by-side"
ROPE = (
    "register job look event set-aside put-back retire correct due show export import rules verify"
)
DEMO = ROOT / "scenarios" / "demo.yaml"
BROKEN = "edgewear: 1\ntitle: T\nsetting: test\noptions:\n  bare: {rope: r}\njob: [ascend: 1,5 m]\n"


def test_help_lists_the_commands() -> None:
    shown = edgewear("--help")
    listed = shown.stdout.partition("Commands:")[2].splitlines()
    assert shown.returncode == 0
    assert "..." not in shown.stdout.partition("Commands:")[2], "a description was cut"
    found = [line.split()[0] for line in listed if line[:2] == "  " and line[2] != " "]
    assert found == [*COMMANDS, "forecast", "rope"]


ENDS = """
import atexit, sys, threading, time
from pathlib import Path
from edgewear.cli import main

def late():
    time.sleep(0.3)
    Path("late").touch()

atexit.register(Path("at exit").touch)
sys.argv[0] = "edgewear"
if sys.argv.pop() == "busy":
    threading.Thread(target=late).start()
main()
"""


@pytest.mark.parametrize("threads", ["busy", "alone"])
@pytest.mark.parametrize(("words", "code"), [(["--help"], 0), (["no-such-command"], 2)])
def test_what_is_due_at_the_end_is_done_before_the_command_ends(
    words: list[str], code: int, threads: str, tmp_path: Path
) -> None:
    """Its modules are left as they are, which saves time: nothing else is left undone."""
    told = [sys.executable, "-c", ENDS, *words, threads]
    done = subprocess.run(told, cwd=tmp_path, capture_output=True, text=True)
    assert done.returncode == code
    assert (done.stdout, done.stderr) == (edgewear(*words).stdout, edgewear(*words).stderr)
    due = {"at exit", "late"} if threads == "busy" else {"at exit"}
    assert {path.name for path in tmp_path.iterdir()} == due


LISTENS = [word for word in COMMANDS if word != "board"]
"""Commands that give one answer; a board goes on until it is stopped."""


@pytest.mark.parametrize(
    "name",
    [
        *LISTENS,
        *(f"rope {word}" for word in ROPE.split()),
        *(f"forecast {word}" for word in FORECAST.split()),
    ],
)
def test_every_command_takes_json_and_quiet(name: str) -> None:
    shown = called(*name.split(), "--help").stdout
    assert "--json" in shown
    assert "--quiet" in shown


@pytest.mark.parametrize(
    "words",
    [
        (),
        ("fly",),
        ("check",),
        ("check", "--pace", DEMO),
        ("compare", DEMO, "--replicates", "many"),
        ("compare", DEMO, "--replicates", "0"),
        ("compare", DEMO, "--workers", "-1"),
        ("sweep",),
        ("sweep", DEMO),
        ("replay", "nowhere", "first"),
    ],
)
def test_a_line_that_cannot_be_meant_ends_with_2(words: tuple[str, ...], tmp_path: Path) -> None:
    done = called(*words, folder=tmp_path)
    assert done.returncode == 2
    assert "Traceback" not in done.stderr
    assert list(tmp_path.iterdir()) == []


@pytest.fixture(scope="module")
def checked() -> dict[Path, Any]:
    """What `check` says of every shipped scenario, in one call."""
    done = edgewear("check", "--json", *SCENARIOS)
    assert done.returncode == 0, done.stderr
    document = json.loads(done.stdout)
    assert document["schema"] == "edgewear.check/1"
    return dict(zip(SCENARIOS, document["scenarios"], strict=True))


@pytest.mark.parametrize("scenario", SCENARIOS, ids=lambda path: path.stem)
def test_every_shipped_scenario_passes_check(checked: dict[Path, Any], scenario: Path) -> None:
    assert checked[scenario]["options"]


def test_the_demo_rigs_four_options_over_two_edges(checked: dict[Path, Any]) -> None:
    found = checked[DEMO]
    met = {
        place["name"]
        for option in found["options"]
        for line in option["lines"]
        for place in line["path"]
        if place["kind"] == "edge"
    }
    assert len(found["options"]) >= 4
    assert len(met) >= 2


def test_quiet_leaves_stderr_empty_and_stdout_as_it_was() -> None:
    loud, quiet = edgewear("check", DEMO), edgewear("check", DEMO, "--quiet")
    assert quiet.stderr == ""
    assert quiet.stdout == loud.stdout


@pytest.mark.parametrize("command", ["check", "compare"])
def test_a_broken_scenario_is_refused_with_its_places_and_writes_nothing(
    command: str, tmp_path: Path
) -> None:
    (tmp_path / "broken.yaml").write_text(BROKEN)
    done = edgewear(command, "broken.yaml", folder=tmp_path)
    assert done.returncode == 65
    assert done.stdout == ""
    assert "Traceback" not in done.stderr
    assert "broken.yaml:5:" in done.stderr, "the rope that nothing defines"
    assert "broken.yaml:6:" in done.stderr, "the comma in a number"
    assert [path.name for path in tmp_path.iterdir()] == ["broken.yaml"]


def test_problems_of_all_files_come_at_once(tmp_path: Path) -> None:
    for name in ("one.yaml", "two.yaml"):
        (tmp_path / name).write_text(BROKEN)
    done = called("check", "one.yaml", DEMO, "two.yaml", folder=tmp_path)
    assert done.returncode == 65
    assert "one.yaml:" in done.stderr
    assert "two.yaml:" in done.stderr


@pytest.mark.parametrize("command", ["check", "compare"])
def test_a_file_that_is_not_there_is_a_sentence(command: str, tmp_path: Path) -> None:
    done = called(command, "absent.yaml", folder=tmp_path)
    assert done.returncode == 65
    assert "absent.yaml" in done.stderr
    assert len(done.stderr.splitlines()) == 1


def test_a_report_of_nothing_ends_with_74(tmp_path: Path) -> None:
    done = called("report", "nowhere", folder=tmp_path)
    assert done.returncode == 74
    assert "nowhere" in done.stderr
    assert "Traceback" not in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_self_check_finds_this_installation_well() -> None:
    done = edgewear("self-check", "--json")
    found = json.loads(done.stdout)
    assert found["schema"] == "edgewear.self-check/1"
    assert found["versions"]["edgewear"]
    assert all(check["ok"] for check in found["checks"])
    assert set(found["extras"]) == set(EXTRAS)
    assert done.returncode == 0


def test_extras_and_packages_are_those_of_the_project() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    listed = project["optional-dependencies"]
    assert set(EXTRAS) == set(listed) - {"dev"}
    for name, (_, brought) in EXTRAS.items():
        assert {re.split("[><=]", one)[0] for one in listed[name]} == set(brought)
    assert {re.split("[><=]", one)[0] for one in project["dependencies"]} <= set(PACKAGES)


def test_an_extra_that_is_missing_is_said_with_what_brings_it() -> None:
    shown = "\n".join(SelfCheck({}, (), {"plot": ("matplotlib",), "board": ()}).lines())
    assert "pip install 'edgewear[plot]'" in shown
    assert "edgewear[board]" not in shown


def test_compiling_says_how_long_it_took_and_where_it_is_kept(tmp_path: Path) -> None:
    lines = list(FirstCompile(tmp_path, 0, 61.04).lines())
    assert lines == ["kernels compiled and tried in 61.0 s", f"kept in {tmp_path}"]
    done = edgewear("self-check", "--compile", "--json")
    assert done.returncode == 0
    assert json.loads(done.stdout)["took_s"] > 0


def test_what_only_geometry_rules_out_is_found_before_anything_runs(tmp_path: Path) -> None:
    text = DEMO.read_text().replace("- descend: 14 m", "- descend: 114 m")
    (tmp_path / "deep.yaml").write_text(text)
    line = text[: text.index("114 m")].count("\n") + 1
    done = called("check", "deep.yaml", folder=tmp_path)
    assert done.returncode == 65
    assert f"deep.yaml:{line}:" in done.stderr
    assert "does not reach" in done.stderr
