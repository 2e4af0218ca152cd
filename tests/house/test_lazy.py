"""What importing the package may cost."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from support.tree import ROOT

HEAVY = ("numba", "pandas", "pyarrow", "scipy", "matplotlib")


def loaded_after(code: str) -> set[str]:
    """Heavy packages that a fresh interpreter has loaded after `code`."""
    script = f"{code}\nimport sys\nprint(*(name for name in {HEAVY!r} if name in sys.modules))"
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    return set(done.stdout.split())


def test_the_probe_sees_a_heavy_package() -> None:
    assert loaded_after("import scipy") == {"scipy"}


@pytest.mark.parametrize(
    "code",
    [
        "import edgewear",
        "import edgewear; dir(edgewear)",
        "import edgewear.cli.commands",
        "import edgewear.scenario",
        "import edgewear.rigging",
        "import edgewear.study",
        "import edgewear.report",
        "import edgewear.dataset",
    ],
)
def test_importing_loads_nothing_heavy(code: str) -> None:
    assert loaded_after(code) == set()


def test_a_worker_reads_its_plan_and_writes_its_part_without_pandas(tmp_path: Path) -> None:
    code = f"""
import sys
sys.path.insert(0, {str(ROOT / "tests")!r})
from pathlib import Path
from edgewear.study.plan import write_plan
from support.sweeper import study_in
study = study_in(Path({str(tmp_path)!r}))
write_plan(study.root, study.plan, study.task.study)
print(study.task(1).rows)
"""
    assert loaded_after(code) == {"10", "pyarrow", "scipy"}


@pytest.mark.parametrize("room", ["study", "report", "dataset", "engine", "scenario", "cli"])
def test_the_linter_refuses_heavy_imports_at_the_top(room: str, tmp_path: Path) -> None:
    file = tmp_path / "sim" / "edgewear" / room / "late.py"
    file.parent.mkdir(parents=True)
    file.write_text("".join(f"import {name}\n" for name in HEAVY))
    assert findings(file, tmp_path).count("TID253") == len(HEAVY)
    body = "".join(f"    import {name}\n" for name in HEAVY)
    file.write_text(f"def late() -> None:\n{body}")
    assert findings(file, tmp_path).count("TID253") == 0


def findings(file: Path, root: Path) -> str:
    """What the linter says about a file, by the rules of this project."""
    (root / "pyproject.toml").write_text((ROOT / "pyproject.toml").read_text())
    ruff = Path(sys.executable).with_name("ruff")
    return subprocess.run(
        [ruff, "check", "--no-cache", "--output-format=concise", file],
        cwd=root,
        capture_output=True,
        text=True,
    ).stdout


def test_nobody_imports_click_itself() -> None:
    users = [
        path.name
        for path in (ROOT / "sim").rglob("*.py")
        if "import click" in path.read_text() or "from click" in path.read_text()
    ]
    assert users == []
