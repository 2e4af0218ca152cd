"""The name of the processor."""

from __future__ import annotations

import platform
from pathlib import Path


def processor() -> str:
    """Name the processor, for the promise of equal bits holds for one kind of it."""
    try:
        lines = Path("/proc/cpuinfo").read_text().splitlines()
    except OSError:
        return platform.processor() or "unknown"
    names = [line.partition(":")[2].strip() for line in lines if line.startswith("model name")]
    return names[0] if names else platform.processor() or "unknown"
