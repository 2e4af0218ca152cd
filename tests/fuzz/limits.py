"""Limits on what a mutant may take: of work, and of memory beside what the process has."""

from __future__ import annotations

import resource
import signal
import time
from collections.abc import Callable
from pathlib import Path
from typing import NoReturn

SECONDS = 10  # asked of every file, whatever is in it
GIB = 1 << 30


def limited(
    trial: Callable[[int], str | None], seconds: float = SECONDS, memory: int = GIB
) -> Callable[[int], str | None]:
    """Give a trial that falls, too, when it takes too long; from now on no more memory is given.

    Parameters:
        trial: of a seed.
        seconds: of the processor; on the clock, which others may use up, six times as many.
        memory: bytes.
    """
    size = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
    resource.setrlimit(resource.RLIMIT_AS, (size + memory, size + memory))
    signal.signal(signal.SIGALRM, _too_slow)

    def held(seed: int) -> str | None:
        began = time.process_time()
        signal.alarm(int(6 * seconds))
        try:
            found = trial(seed)
        except TimeoutError as error:
            found = str(error)
        finally:
            signal.alarm(0)
        took = time.process_time() - began
        return f"{took:.0f} s" if took > seconds and not found else found

    return held


def _too_slow(*_: object) -> NoReturn:
    raise TimeoutError("it comes to no end")
