"""Reads many mutants in a process of its own, which may not grow by more than 1 GiB."""

from __future__ import annotations

import resource
import signal
import sys
import tempfile
import time
from pathlib import Path
from typing import NoReturn

from fuzz.kinds import KINDS, fallen

SECONDS = 10  # asked of every file, whatever is in it
GIB = 1 << 30


def main(name: str, first: int, count: int) -> int:
    """Print every mutant that made a promise fall; give their number."""
    kind, bad = KINDS[name], 0
    with tempfile.TemporaryDirectory() as folder:
        fallen(kind, first, Path(folder))  # loads what is loaded once
        size = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
        resource.setrlimit(resource.RLIMIT_AS, (size + GIB, size + GIB))
        signal.signal(signal.SIGALRM, _too_slow)
        for seed in range(first, first + count):
            began = time.process_time()
            signal.alarm(60)  # of the clock, which others may use up
            found = fallen(kind, seed, Path(folder))
            signal.alarm(0)
            if time.process_time() - began > SECONDS:
                found = found or f"{time.process_time() - began:.0f} s"
            if found:
                bad += 1
                print(f"{name} {seed}: {found}")
    return bad


def _too_slow(*_: object) -> NoReturn:
    raise TimeoutError("60 s have passed")


if __name__ == "__main__":
    sys.exit(min(main(sys.argv[1], int(sys.argv[2]), int(sys.argv[3])), 100))
