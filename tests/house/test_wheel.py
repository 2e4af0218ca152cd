"""The wheel holds every file of the package, and runs in an environment of its own."""

from __future__ import annotations

import json
import os
import subprocess
import zipfile
from pathlib import Path

import pytest

from support.tree import PACKAGE, ROOT, kept_files

BUILT = ("python3", "-m", "pip", "wheel", "-q", "--no-deps", "--wheel-dir")
SCENARIO = ROOT / "scenarios" / "reference-ascent.yaml"


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("dist")
    subprocess.run([*BUILT, folder, ROOT], check=True)
    (made,) = folder.glob("*.whl")
    return made


def in_tree() -> set[str]:
    """Files of the package, by their path in a wheel."""
    return {
        path.relative_to(PACKAGE.parent).as_posix()
        for path in kept_files()
        if path.is_relative_to(PACKAGE)
    }


def test_data_files_are_among_those_of_the_tree() -> None:
    kinds = {Path(name).suffix for name in in_tree()}
    assert {".py", ".yaml", ".js", ".css", ".typed"} <= kinds


@pytest.mark.long
def test_the_wheel_holds_what_the_tree_holds(wheel: Path) -> None:
    held = set(zipfile.ZipFile(wheel).namelist())
    assert {name for name in held if name.startswith("edgewear/")} == in_tree()
    assert any(name.endswith("licenses/LICENSE") for name in held)


@pytest.mark.long
def test_the_wheel_runs_in_an_environment_of_its_own(wheel: Path, tmp_path: Path) -> None:
    subprocess.run(["python3", "-m", "venv", "--without-pip", tmp_path / "own"], check=True)
    own = tmp_path / "own" / "bin"
    install = ["python3", "-m", "pip", "--python", own / "python", "install", "-q"]
    subprocess.run([*install, f"{wheel}[board]"], check=True)
    plain = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}

    def said(*words: str | Path) -> dict:
        done = subprocess.run(
            [own / "edgewear", *words, "--json"], cwd=tmp_path, env=plain,
            capture_output=True, text=True, check=True,
        )  # fmt: skip
        return json.loads(done.stdout)

    checked = said("self-check")
    assert all(one["ok"] for one in checked["checks"])
    assert checked["extras"]["board"] == []
    assert said("check", SCENARIO)["scenarios"][0]["options"]
    compared = said("compare", SCENARIO, "--replicates", "8", "--out", tmp_path / "out")
    assert Path(compared["report"]).is_file()
