"""Hearing that somebody wants a study to stop, and ending it in an orderly way."""

from __future__ import annotations

import signal
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

GRACE_S = 3.0
"""Time in which the chunks under way may be finished after a request to end from outside."""


class Asked:
    """Whether somebody asked to stop: by Ctrl-C, or from outside, who will not wait for long."""

    def __init__(self) -> None:
        """Nobody yet."""
        self._set = threading.Event()
        self._until: float | None = None

    def is_set(self) -> bool:
        """Tell whether anybody asked."""
        return self._set.is_set()

    def is_over(self) -> bool:
        """Tell whether the time for finishing what is under way is over."""
        return self._until is not None and time.monotonic() > self._until

    def hear(self, number: int, frame: FrameType | None) -> None:
        """Take a signal: the first asks, a second one ends at once."""
        if self._set.is_set():
            raise KeyboardInterrupt
        if number != signal.SIGINT:
            self._until = time.monotonic() + GRACE_S
        self._set.set()


STOPS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)
"""Signals that ask for an orderly end: Ctrl-C, `kill`, a terminal that closes."""


@contextmanager
def stop_on_request() -> Iterator[Asked]:
    """Let the first signal ask for an orderly end and the second one end at once."""
    asked = Asked()
    if threading.current_thread() is not threading.main_thread():
        yield asked
        return
    before = {number: signal.getsignal(number) for number in STOPS}
    for number in STOPS:
        if before[number] is not signal.SIG_IGN or number == signal.SIGINT:  # nohup stays
            signal.signal(number, asked.hear)
    try:
        yield asked
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
