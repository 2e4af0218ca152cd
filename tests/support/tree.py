"""Where the checkout is and which files belong to it."""

from __future__ import annotations

import subprocess
from pathlib import Path

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "sim" / "edgewear"
_GENERATED = {".git", ".venv", "__pycache__", "results", "dist", "build"}


def sources() -> list[Path]:
    """Python files of the package."""
    return sorted(PACKAGE.rglob("*.py"))


def kept_files() -> list[Path]:
    """Files under version control, or all but generated ones where there is no git."""
    if (ROOT / ".git").exists():
        listed = subprocess.run(
            ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True
        ).stdout.split("\0")
        return [ROOT / name for name in listed if name and (ROOT / name).is_file()]
    return [
        path
        for path in sorted(ROOT.rglob("*"))
        if path.is_file() and not _GENERATED & set(path.relative_to(ROOT).parts)
    ]


def text_of(path: Path) -> str:
    """Text of a file; empty for pictures and other binary files."""
    data = path.read_bytes()
    return "" if b"\0" in data else data.decode(errors="replace")
