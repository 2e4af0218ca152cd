"""Writes `what-we-know.md`; a test keeps the two equal.

Forecasts of the shipped library lie in `forecasts/` beside this file, once there are any.
"""

from __future__ import annotations

import sys
from pathlib import Path

from edgewear.forecasts.folder import score_folder
from edgewear.validation.credibility.page import what_we_know

FORECASTS = Path(__file__).with_name("forecasts")


def written() -> str:
    """Give the page as it is today."""
    scored = score_folder(FORECASTS) if FORECASTS.exists() else None
    return what_we_know(scored)


if __name__ == "__main__":
    path = Path(__file__).with_name("what-we-know.md")
    path.write_text(written(), encoding="utf-8")
    print(path, file=sys.stderr)
