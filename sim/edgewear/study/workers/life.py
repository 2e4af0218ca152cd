"""What a worker does beside its chunks: it ends when its runner is gone, however that went."""

from __future__ import annotations

import atexit
import ctypes
import multiprocessing
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from multiprocessing.connection import wait

from edgewear.garbage import seldom_collect

_PR_SET_PDEATHSIG = 1

_DEAF_TO = (signal.SIGINT, signal.SIGHUP)
"""Signals that everybody in a terminal gets: the runner decides what comes of them."""


@contextmanager
def undisturbed() -> Iterator[None]:
    """Hold those signals back for a moment, from the processes and threads then started too.

    What is started is not to be caught before it knows what to do about them; `enter` lets go.
    Python's own process beside the workers, which counts the semaphores they share, never does.
    It is deaf to Ctrl-C by itself, but a terminal that closes would end it before what it counts,
    and its warnings would stand among our words. It ends when all who hold its pipe have.
    """
    if not hasattr(signal, "pthread_sigmask"):  # not on Windows
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, _DEAF_TO)
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def enter(ready: Callable[[], object] | None, bound: bool) -> None:
    """Make a process a worker: deaf to Ctrl-C, quick to leave, its kernels loaded.

    Parameters:
        ready: what it does first, whatever comes of it.
        bound: whether the thread that starts it lives as long as the runner.
    """
    seldom_collect()
    for deaf in _DEAF_TO:
        signal.signal(deaf, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_DFL)  # a copy of its runner would do as that does
    if hasattr(signal, "pthread_sigmask"):
        signal.pthread_sigmask(signal.SIG_UNBLOCK, _DEAF_TO)
    atexit.register(_leave)
    die_with_runner(bound)
    if ready is not None:
        with suppress(Exception):  # its rows will say what is wrong
            ready()


def die_with_runner(bound: bool) -> None:
    """End this process when the one that started it ends, killed or not.

    Linux sends a signal, which ends a kernel in the midst of a chunk too; it counts the thread that
    started the worker as its runner. Everywhere a thread waits for the end of the runner's pipe.
    """
    runner = multiprocessing.parent_process()
    if runner is None:
        return
    if bound and sys.platform == "linux":
        with suppress(OSError, AttributeError):
            ctypes.CDLL(None).prctl(_PR_SET_PDEATHSIG, signal.SIGKILL)
        if os.getppid() != runner.pid:  # it ended before it could be asked to tell
            os._exit(1)
    threading.Thread(target=_watch, args=(runner.sentinel,), daemon=True).start()


def _watch(sentinel: int) -> None:
    wait([sentinel])
    os._exit(1)


def _leave() -> None:
    """End a worker without taking its modules apart, which takes longer than a chunk."""
    sys.stdout.flush()
    sys.stderr.flush()
    os._exit(0)
