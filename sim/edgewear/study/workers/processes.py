"""Worker processes that go in an orderly way, whether they are done or told to leave at once."""

from __future__ import annotations

import multiprocessing
import os
import sys
import threading
import time
import warnings
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import contextmanager, nullcontext, suppress
from pathlib import Path
from threading import Thread
from typing import ParamSpec, TypeVar, cast

from edgewear.study.workers.life import enter, undisturbed

T = TypeVar("T")
P = ParamSpec("P")

LEAVES_S = 0.02
"""So long a thread that Python has seen end may take to be gone."""

PATIENCE_S = 10.0
"""So long the thread that minds the workers may take to see that they are gone."""

OF_LIBRARIES = frozenset({"jemalloc_bg_thd"})
"""Threads that may stay: that of an allocator that comes with Arrow. It lets no copy be made while
it holds a lock, and copies begin without it."""


def alone() -> bool:
    """Tell whether this process is one thread, so that a copy of it can go on.

    A lock that another thread holds at that moment stays locked in the copy for ever. Threads of
    libraries, which Python does not know, count too; only Linux tells.
    """
    if sys.platform != "linux" or threading.active_count() > 1:
        return False
    ends = time.monotonic() + LEAVES_S
    with suppress(OSError):
        if _others():
            _end_idle_threads()
        while _others():
            if time.monotonic() > ends:
                return False
            time.sleep(0.001)
        return True
    return False


def _others() -> list[str]:
    """Numbers of the threads beside this one that a copy would have to be afraid of."""
    tasks = Path("/proc/self/task")
    mine = str(threading.get_native_id())
    return [
        number
        for number in os.listdir(tasks)
        if number != mine and (tasks / number / "comm").read_text().strip() not in OF_LIBRARIES
    ]


def _end_idle_threads() -> None:
    """Have those threads end that their library ends before any copy, by making one.

    Linear algebra keeps idle threads from the moment it is loaded, ends them whenever a process is
    copied, and starts them again when it needs them. Without that, a sweep called from Python would
    never be copied.
    """
    with unwarned():
        copy = os.fork()
        if copy == 0:
            os._exit(0)
    os.waitpid(copy, 0)


@contextmanager
def unwarned() -> Iterator[None]:
    """Make a copy without a word on the threads of libraries, which Python tells from 3.12 on."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        yield


class Workers(ProcessPoolExecutor):
    """An executor of processes: spawned, or copies of this one with all that it has loaded.

    Python's own leaves a thread behind when it is not waited for. That thread closes the pipe by
    which it is woken, while the end of Python writes to it: "Bad file descriptor", now and then.
    """

    def __init__(
        self,
        many: int,
        begin: Callable[..., None] = enter,
        given: tuple[object, ...] = (None, False),
        copies: bool = False,
    ) -> None:
        """Start nothing yet.

        Parameters:
            many: processes.
            begin: what each does first; makes it a worker, by `enter`.
            given: to `begin`.
            copies: whether they are copies of this process; only where it is `alone`.
        """
        self._starts = unwarned if copies else nullcontext
        how = multiprocessing.get_context("fork" if copies else "spawn")
        with undisturbed():  # Python's process that counts what workers share is started here
            super().__init__(many, how, begin, given)

    def submit(self, fn: Callable[P, T], /, *args: P.args, **kwargs: P.kwargs) -> Future[T]:
        """Hand a task over; Ctrl-C waits until a process that is started for it stands."""
        with undisturbed(), self._starts():
            return super().submit(fn, *args, **kwargs)

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        """Let the workers go, when they are done or, not waited for, at once."""
        if not wait:
            self._end_now()
            return
        try:
            super().shutdown(cancel_futures=cancel_futures)
        except BaseException:  # Ctrl-C: nobody waits any longer
            self._end_now()
            raise

    def _end_now(self) -> None:
        """Kill the workers and wait for the thread that minds them.

        A pool that breaks while one of its workers is just starting waits for that one for ever.
        """
        with undisturbed():
            minder = cast(Thread | None, self._executor_manager_thread)
            processes = list((self._processes or {}).values())
            super().shutdown(wait=False, cancel_futures=True)
            for process in processes:
                process.kill()
            if minder is not None:
                minder.join(PATIENCE_S)
