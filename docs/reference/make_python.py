"""Writes `python.md` from the docstrings; a test keeps the two equal."""

from __future__ import annotations

import sys
from pathlib import Path

from edgewear.python.reference import page

if __name__ == "__main__":
    path = Path(__file__).with_name("python.md")
    path.write_text(page(), encoding="utf-8")
    print(path, file=sys.stderr)
