"""Writes `commands.md` from the commands themselves; a test keeps the two equal."""

from __future__ import annotations

import sys
from pathlib import Path

from edgewear.cli.reference import commands_page

if __name__ == "__main__":
    page = Path(__file__).with_name("commands.md")
    page.write_text(commands_page(), encoding="utf-8")
    print(page, file=sys.stderr)
