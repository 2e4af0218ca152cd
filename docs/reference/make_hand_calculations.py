"""Writes `hand-calculations.md`: loads, drops, swings and hauls worked by hand."""

from __future__ import annotations

import sys
from pathlib import Path

from edgewear.validation.by_hand import by_hand
from edgewear.validation.by_hand_page import page

if __name__ == "__main__":
    target = Path(__file__).with_name("hand-calculations.md")
    target.write_text(page(tuple(by_hand())), encoding="utf-8")
    print(target, file=sys.stderr)
