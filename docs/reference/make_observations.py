"""Writes `observations.md` from the model; takes half a minute. A test keeps the two equal."""

from __future__ import annotations

import sys
from pathlib import Path

from edgewear.validation.observations import observations
from edgewear.validation.observations_page import page

if __name__ == "__main__":
    path = Path(__file__).with_name("observations.md")
    path.write_text(page(observations()), encoding="utf-8")
    print(path, file=sys.stderr)
