"""How long this machine needs until its kernels are compiled, or loaded where they are kept."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

CLIMB = """
edgewear: 1
title: A short climb over one edge
setting: test
edges:
  edge: {radius: 2 mm, surface: steel}
ropes:
  rope: {like: low-stretch 11, length: 20 m}
people:
  climber: {mass: 90 kg, technique: normal, system: pre-threaded}
options:
  it: {rope: rope, over: [{edge: edge, after: 10 m, bend: 30 deg}]}
job:
  - ascend: 1 m
when: {core visible: carry on}
"""
RUNS = 16
"""Enough that they are played many at a time, as trials are."""


@dataclass(frozen=True)
class FirstCompile:
    """What was there before, and what it took."""

    folder: Path | None
    kept_before: int
    """Kernels that were kept there."""
    took_s: float
    ok = True

    def as_json(self) -> dict[str, Any]:
        """Give the document that `self-check --compile --json` prints."""
        return {
            "schema": "edgewear.compile/1",
            "folder": None if self.folder is None else str(self.folder),
            "kept_before": self.kept_before,
            "took_s": round(self.took_s, 1),
        }

    def lines(self) -> Iterator[str]:
        """Give it as the terminal shows it."""
        what = "loaded" if self.kept_before else "compiled"
        yield f"kernels {what} and tried in {self.took_s:.1f} s"
        yield (
            "kept nowhere: no folder can be written; set EDGEWEAR_CACHE"
            if self.folder is None
            else f"kept in {self.folder}"
        )


def first_compile() -> FirstCompile:
    """Play a short climb once and many times, which needs the kernels of every job."""
    from edgewear.engine.kernel_cache import kernel_cache_folder

    folder = kernel_cache_folder()
    kept = kept_in(folder)
    begun = time.perf_counter()
    _play()
    return FirstCompile(folder, kept, time.perf_counter() - begun)


def kept_in(folder: Path | None) -> int:
    """Count the compiled kernels in a folder."""
    return 0 if folder is None else sum(1 for _ in folder.rglob("*.nbi"))


def _play() -> None:
    from edgewear.validation.trials import compiled, drawn, nominal, played

    case, tape = compiled(CLIMB, "it")
    nominal(case, tape)
    played(case, tape, drawn(case, RUNS, 0), 0)
