"""Limits on what a mutant may take: 10 s of work, and 1 GiB more than the process has."""

from __future__ import annotations

import resource
import signal
import time
from collections.abc import Callable
from pathlib import Path
from typing import NoReturn

SECONDS = 10  # asked of every file, whatever is in it
GIB = 1 << 30


def limited(trial: Callable[[int], str | None]) -> Callable[[int], str | None]:
    """Give a trial that falls, too, when it takes too long; from now on no more memory is given."""
    size = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
    resource.setrlimit(resource.RLIMIT_AS, (size + GIB, size + GIB))
    signal.signal(signal.SIGALRM, _too_slow)

    def held(seed: int) -> str | None:
        began = time.process_time()
        signal.alarm(60)  # of the clock, which others may use up
        try:
            found = trial(seed)
        except TimeoutError as error:
            found = str(error)
        finally:
            signal.alarm(0)
        took = time.process_time() - began
        return f"{took:.0f} s" if took > SECONDS and not found else found

    return held


def _too_slow(*_: object) -> NoReturn:
    raise TimeoutError("60 s have passed")
