"""Which room may import which: the contracts hold, and each of them can fail."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from support.tree import PACKAGE, ROOT

BREAKS = {
    "numerics know arrays, nothing else": ("mechanics", "edgewear.records"),
    "the job knows time, not physics": ("job", "edgewear.dataset"),
    "the report reads the dataset, never a simulation": ("report", "edgewear.case"),
    "only the engine touches the kernels": ("study", "edgewear.mechanics"),
    "the data flows one way": ("scenario", "edgewear.rigging"),
    "what everybody may import imports nobody": ("errors", "edgewear.records"),
}
"""Contract -> a room and an import that it must refuse there."""


def lint(root: Path) -> dict[str, str]:
    """Verdict on each contract of a checkout: KEPT or BROKEN."""
    done = subprocess.run(
        [Path(sys.executable).with_name("lint-imports"), "--no-cache", "--no-logo"],
        cwd=root,
        env={**os.environ, "PYTHONPATH": str(root / "sim"), "NO_COLOR": "1", "COLUMNS": "200"},
        capture_output=True,
        text=True,
    )
    assert "Contracts:" in done.stdout, done.stdout + done.stderr
    lines = done.stdout.partition("Contracts:")[0].splitlines()
    verdicts = (line.rstrip().rpartition(" ") for line in lines)
    return {name.strip(): word for name, _, word in verdicts if word in ("KEPT", "BROKEN")}


def contracts() -> list[dict[str, object]]:
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text())
    return list(settings["tool"]["importlinter"]["contracts"])


def test_every_contract_is_broken_once_below() -> None:
    assert {contract["name"] for contract in contracts()} == set(BREAKS)


def test_the_tree_keeps_every_contract() -> None:
    assert lint(ROOT) == dict.fromkeys(BREAKS, "KEPT")


@pytest.mark.parametrize("name", BREAKS)
def test_a_contract_refuses_what_it_is_there_for(name: str, tmp_path: Path) -> None:
    room, wanted = BREAKS[name]
    shutil.copytree(PACKAGE, tmp_path / "sim" / "edgewear")
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    target = tmp_path / "sim" / "edgewear" / room
    file = target / "__init__.py" if target.is_dir() else target.with_suffix(".py")
    file.write_text(file.read_text() + f"\nimport {wanted}\n")
    assert lint(tmp_path)[name] == "BROKEN"


def test_every_room_has_a_place_in_the_layers() -> None:
    layers = next(c for c in contracts() if c["type"] == "layers")["layers"]
    assert isinstance(layers, list)
    placed = {room.strip() for layer in layers for room in layer.split("|")}
    rooms = {
        f"edgewear.{path.stem}"
        for path in PACKAGE.iterdir()
        if (path.is_dir() or path.suffix == ".py") and not path.stem.startswith("__")
    }
    leaves = ("mechanics", "codes", "layout", "errors", "cautions", "terms", "findings")
    leaves += ("percentiles", "incoming", "garbage", "spelt")
    free = {f"edgewear.{room}" for room in leaves}
    assert rooms - placed - free == set()
