"""Which seeds a long count tries: all, or the part that this machine or core was given."""

from __future__ import annotations

import os


def seeds(count: int) -> range:
    """Give the seeds from 0, or those of `EDGEWEAR_SEEDS`, written as first:count."""
    first, _, given = os.environ.get("EDGEWEAR_SEEDS", f"0:{count}").partition(":")
    return range(int(first), int(first) + int(given))
