"""Commands stand in an order that is written down, whatever is imported first."""

from __future__ import annotations

import os
import random
import subprocess
import sys

import pytest

from edgewear.cli import commands
from support.tree import ROOT

ROOMS = ["forecasts", "jobs", "learning.learn", "limits", "procedure", "proposals", "rope_entries",
         "rope_lists", "studies", "upkeep"]  # fmt: skip
LISTED = """
import importlib, sys
for room in sys.argv[1:]:
    importlib.import_module("edgewear.cli." + room)
from edgewear.cli.reference import commands_page
heads = [line.strip("# ") for line in commands_page().splitlines() if line.startswith("##")]
print(*heads, sep=",")
"""


def orders() -> list[list[str]]:
    """Some orders of import: the one written here, backwards, and two by chance."""
    chance = random.Random(7)
    return [ROOMS, ROOMS[::-1], *(chance.sample(ROOMS, len(ROOMS)) for _ in range(2))]


@pytest.mark.parametrize("order", orders(), ids=lambda order: str(order[0]))
def test_no_order_of_imports_changes_the_order_of_commands(order: list[str]) -> None:
    wanted = [
        *commands.ORDER,
        "forecast", *(f"forecast {name}" for name in commands.FORECAST_ORDER),
        "rope", *(f"rope {name}" for name in commands.ROPE_ORDER),
    ]  # fmt: skip
    ran = subprocess.run(
        [sys.executable, "-c", LISTED, *order],
        env={**os.environ, "PYTHONPATH": str(ROOT / "sim")},
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert ran.stdout.strip().split(",") == wanted
