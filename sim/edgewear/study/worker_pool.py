"""Chunks over any executor: dead workers replaced, the culprit found, stopped at will."""

from __future__ import annotations

import atexit
import multiprocessing
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import (
    FIRST_COMPLETED,
    CancelledError,
    Executor,
    Future,
    ProcessPoolExecutor,
    wait,
)
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager, suppress
from types import FrameType
from typing import Any, ParamSpec, TypeVar

from edgewear.errors import Interrupted, Unfinished, UsageError

Given = TypeVar("Given")
Result = TypeVar("Result")
T = TypeVar("T")
P = ParamSpec("P")
Task = Callable[[int], Result]

CLUSTER_TIMEOUT_S = 10

ATTEMPTS = 3
"""A chunk that was alone with a worker when it died is blamed after so many deaths."""


class Inline(Executor):
    """Runs each task at once in this process, for studies that are over before a worker starts."""

    def submit(self, fn: Callable[P, T], /, *args: P.args, **kwargs: P.kwargs) -> Future[T]:
        """Run a task and give its finished future."""
        future: Future[T] = Future()
        try:
            future.set_result(fn(*args, **kwargs))
        except Exception as error:
            future.set_exception(error)
        return future


class WorkerPool:
    """An executor that can be made anew after a worker died.

    Parameters:
        make: makes the executor.
        width: chunks to keep under way at once.
        leave: lets go of what `make` draws on.
        ahead: workers that may start before there is anything to do.
    """

    def __init__(
        self,
        make: Callable[[], Executor],
        width: int,
        leave: Callable[[], object] = lambda: None,
        ahead: int = 0,
    ) -> None:
        """Start nothing yet."""
        self._make = make
        self._leave = leave
        self._executor: Executor | None = None
        self._ahead = ahead
        self.width = width

    def __enter__(self) -> WorkerPool:
        """Nothing starts before it is asked for."""
        return self

    def __exit__(self, error: object, *more: object) -> None:
        """End in an orderly way, or at once after an error."""
        if error is not None:
            self.dismiss()
        self.close()

    def begin(self, most: int) -> None:
        """Start workers that get ready while their first chunks are still being prepared."""
        with suppress(BrokenProcessPool):  # the first chunk will meet it too
            for _ in range(min(most, self._ahead)):
                self.submit(abs, 0)

    def later(
        self, task: Callable[[Given], Result], given: Sequence[Given]
    ) -> Callable[[], list[Result]]:
        """Let workers do what must be known before there are chunks; call it for the results.

        Where a worker dies over it, everything is done in this process.
        """
        futures: list[Future[Result]] = []
        with suppress(BrokenProcessPool):
            futures += [self.submit(task, one) for one in given]

        def results() -> list[Result]:
            with suppress(BrokenProcessPool):
                if futures:
                    return [future.result() for future in futures]
            self.dismiss()
            return [task(one) for one in given]

        return results

    def submit(self, task: Callable[..., Result], chunk: object) -> Future[Result]:
        """Hand a chunk over; starts the executor when there is none."""
        if self._executor is None:
            self._executor = self._make()
        return self._executor.submit(task, chunk)

    def dismiss(self) -> None:
        """Let the executor go at once, its worker processes with it.

        A pool that breaks while one of its workers is just starting waits for that one for ever.
        """
        if self._executor is not None:
            processes = list((getattr(self._executor, "_processes", None) or {}).values())
            _shut(self._executor, wait=False)
            self._executor = None
            for process in processes:
                process.kill()

    def close(self) -> None:
        """End the executor in an orderly way."""
        if self._executor is not None:
            _shut(self._executor, wait=True)
            self._executor = None
        self._leave()


def _shut(executor: Executor, wait: bool) -> None:
    """Shut an executor down; not every one can cancel what has not begun."""
    try:
        executor.shutdown(wait=wait, cancel_futures=True)
    except TypeError:
        executor.shutdown(wait=wait)


def inline() -> WorkerPool:
    """Make a gang of nobody: everything in this process."""
    return WorkerPool(Inline, 1)


def processes(workers: int, ready: Callable[[], object] | None = None) -> WorkerPool:
    """Make a gang of spawned worker processes.

    Parameters:
        workers: how many.
        ready: what each does first, whatever comes of it; picklable.

    Raises:
        UsageError: fewer than one worker.
    """
    if workers < 1:
        raise UsageError(f"workers: {workers}; at least 1 is allowed")
    context = multiprocessing.get_context("spawn")

    def make() -> Executor:
        return ProcessPoolExecutor(workers, context, _enter, (ready,))

    return WorkerPool(make, workers + 1, ahead=workers)


def cluster(address: str) -> WorkerPool:
    """Make a gang of an existing dask cluster's workers; they share this machine's folders.

    Parameters:
        address: of the scheduler, for example tcp://host:8786.

    Raises:
        UsageError: nothing answers there, or dask is not installed.
    """
    try:
        from distributed import Client
    except ImportError as error:
        raise UsageError("--cluster needs dask: pip install 'edgewear[cluster]'") from error
    try:
        client = Client(address, timeout=CLUSTER_TIMEOUT_S)
    except (OSError, ValueError) as error:
        raise UsageError(f"no dask scheduler answers at {address}: {error}") from error
    width = max(sum(client.nthreads().values()), 1)
    return WorkerPool(client.get_executor, 2 * width, client.close)


def run_chunks(
    gang: WorkerPool,
    task: Task[Result],
    chunks: Iterable[int],
    done: Callable[[Result], None],
    blamed: Callable[[int], None],
) -> None:
    """Run a task on every chunk; the order of completion is anybody's.

    When a worker dies, the chunks then under way are suspects: each is tried again alone, and
    one that is alone with a death for the third time is blamed.

    Parameters:
        gang: who does it.
        task: picklable; raises only what must end the study.
        chunks: their numbers.
        done: called here with each result.
        blamed: called here with each chunk that keeps killing workers.

    Raises:
        Interrupted: somebody asked to stop; the chunks under way were finished.
        Exception: what a task raised.
    """
    waiting = iter(chunks)
    with _stop_on_request() as asked:
        try:
            while suspects := _until_a_death(gang, task, waiting, done, asked):
                for chunk in suspects:
                    _alone(gang, task, chunk, done, blamed)
                    _heed(asked)
        except KeyboardInterrupt:
            gang.dismiss()
            raise


def _until_a_death(
    gang: WorkerPool,
    task: Task[Result],
    waiting: Iterator[int],
    done: Callable[[Result], None],
    asked: threading.Event,
) -> list[int]:
    under_way: dict[Future[Result], int] = {}
    suspects: list[int] = []
    while True:
        while not suspects and not asked.is_set() and len(under_way) < gang.width:
            chunk = next(waiting, None)
            if chunk is None:
                break
            try:
                under_way[gang.submit(task, chunk)] = chunk
            except BrokenProcessPool:
                suspects.append(chunk)
        if not under_way:
            break
        for future in wait(under_way, return_when=FIRST_COMPLETED).done:
            chunk = under_way.pop(future)
            if _died(future):
                suspects.append(chunk)
            else:
                done(future.result())
    if suspects:
        gang.dismiss()
    elif asked.is_set():
        _heed(asked)
    return sorted(suspects)


def _alone(
    gang: WorkerPool,
    task: Task[Result],
    chunk: int,
    done: Callable[[Result], None],
    blamed: Callable[[int], None],
) -> None:
    for _ in range(ATTEMPTS):
        try:
            future = gang.submit(task, chunk)
        except BrokenProcessPool:
            gang.dismiss()
            continue
        wait([future])
        if not _died(future):
            done(future.result())
            return
        gang.dismiss()
    _can_start(gang)
    blamed(chunk)


def _can_start(gang: WorkerPool) -> None:
    """Tell a chunk that kills its worker from workers that never live to see one.

    Raises:
        UsageError: they die before there is anything to do.
    """
    with suppress(BrokenProcessPool):
        future = gang.submit(abs, 0)
        wait([future])
        if not _died(future):
            return
    gang.dismiss()
    raise UsageError(
        "worker processes die as they start; a script that calls edgewear keeps its calls under "
        "`if __name__ == '__main__':`, because each worker imports the script"
    )


def _died(future: Future[Any]) -> bool:
    if future.cancelled():
        raise Unfinished("the scheduler went away; the same command goes on from here")
    error = future.exception()
    if isinstance(error, CancelledError):
        raise Unfinished("the scheduler went away; the same command goes on from here")
    return isinstance(error, BrokenProcessPool) or type(error).__name__ == "KilledWorker"


def _heed(asked: threading.Event) -> None:
    if asked.is_set():
        raise Interrupted("stopped on request; what is finished is kept, the same command goes on")


@contextmanager
def _stop_on_request() -> Iterator[threading.Event]:
    """Let the first Ctrl-C ask for an orderly end and the second one end at once."""
    asked = threading.Event()
    if threading.current_thread() is not threading.main_thread():
        yield asked
        return
    before = signal.getsignal(signal.SIGINT)

    def hear(number: int, frame: FrameType | None) -> None:
        if asked.is_set():
            raise KeyboardInterrupt
        asked.set()

    signal.signal(signal.SIGINT, hear)
    try:
        yield asked
    finally:
        signal.signal(signal.SIGINT, before)


def _enter(ready: Callable[[], object] | None) -> None:
    """Make a process a worker: deaf to Ctrl-C, quick to leave, its kernels loaded."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    atexit.register(_leave)
    if ready is not None:
        with suppress(Exception):  # its rows will say what is wrong
            ready()


def _leave() -> None:
    """End a worker without taking its modules apart, which takes longer than a chunk."""
    sys.stdout.flush()
    sys.stderr.flush()
    os._exit(0)
