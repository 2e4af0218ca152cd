"""Long counts in parts, for many cores: `python -m fuzz.counts PIECE FIRST COUNT [SECONDS]`.

Prints what fell, a line each, and at the end how many were tried. A piece is a kind of file, or
one of `crafted` (datasets), `run` and `compare` (what `check` accepts). After so many seconds no
more is begun.
"""

from __future__ import annotations

import random
import shutil
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from edgewear.scenario import load_text
from fuzz.accepted import accepted, compare_fell, run_fell
from fuzz.crafted import crafted, fell, made
from fuzz.kinds import KINDS, fallen
from fuzz.limits import GIB, limited
from support.scenario_files import BENCH

Trial = Callable[[int], str | None]
"""Tries a seed: what fell, empty for nothing, None where there was nothing to try."""


@contextmanager
def crafted_datasets() -> Iterator[Trial]:
    """Datasets, their files crafted; every eighth is played again too."""
    with tempfile.TemporaryDirectory() as folder:
        whole = made(Path(folder) / "made")
        fell(whole, replay=True)  # loads what is loaded once

        def trial(seed: int) -> str:
            root = Path(folder) / "sent" / "dataset"
            told = crafted(whole, root, random.Random(seed))
            found = fell(root, replay=seed % 8 == 0)
            shutil.rmtree(root.parent)
            return found and f"{told}: {found}"

        yield trial


@contextmanager
def accepted_runs() -> Iterator[Trial]:
    """Scenarios that `check` accepts, run."""
    run_fell(load_text(BENCH, "bench.yaml"))  # compiles what is not yet

    def trial(seed: int) -> str | None:
        scenario = accepted(seed)
        return None if scenario is None else run_fell(scenario)

    yield trial


@contextmanager
def accepted_studies() -> Iterator[Trial]:
    """Scenarios that `check` accepts, compared, observed and swept."""
    with tempfile.TemporaryDirectory() as folder:
        made(Path(folder) / "made")  # compiles what is not yet

        def trial(seed: int) -> str | None:
            scenario, out = accepted(seed), Path(folder) / str(seed)
            if scenario is None:
                return None
            found = compare_fell(scenario, out)
            shutil.rmtree(out, ignore_errors=True)
            return found

        yield trial


@contextmanager
def files(name: str) -> Iterator[Trial]:
    """Files of a kind."""
    with tempfile.TemporaryDirectory() as folder:
        yield lambda seed: fallen(KINDS[name], seed, Path(folder))


PLAYED = (200.0, 4 * GIB)
"""Seconds and bytes for what is played: `check` lets ten hours pass, on 10 km of rope."""

PIECES = {"crafted": crafted_datasets, "run": accepted_runs, "compare": accepted_studies}


def main(piece: str, first: int, count: int, seconds: float = 1e9) -> int:
    """Try a range of seeds; print what fell, and give how many did."""
    until, tried, bad = time.monotonic() + seconds, 0, 0
    with PIECES[piece]() if piece in PIECES else files(piece) as trial:
        trial(first)  # loads what is loaded once
        held = limited(trial, *PLAYED if piece in ("run", "compare") else ())
        for seed in range(first, first + count):
            if time.monotonic() > until:
                break
            found = held(seed)
            tried += found is not None
            if found:
                bad += 1
                print(f"{piece} {seed}: {found}", flush=True)
    print(f"tried {tried}, fell {bad}, seeds {seed + 1 - first}", file=sys.stderr)
    return bad


if __name__ == "__main__":
    more = [float(word) for word in sys.argv[4:]]
    sys.exit(min(main(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]), *more), 100))
