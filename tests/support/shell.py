"""The installed command, run as people run it."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from support.tree import ROOT

EDGEWEAR = Path(sys.executable).with_name("edgewear")
SCENARIOS = sorted(
    path for path in (ROOT / "scenarios").glob("*") if path.suffix in (".yaml", ".yml")
)
"""Files of tests lie in a folder of their own."""


def edgewear(*words: str | Path, folder: Path = ROOT) -> subprocess.CompletedProcess[str]:
    """Run the command in a folder, its streams caught."""
    return subprocess.run([EDGEWEAR, *words], cwd=folder, capture_output=True, text=True)
