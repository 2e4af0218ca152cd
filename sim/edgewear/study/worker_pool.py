"""Chunks over any executor: dead workers replaced, the culprit found, stopped at will."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, CancelledError, Executor, Future, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from typing import Any, ParamSpec, Protocol, TypeVar

from edgewear.errors import Interrupted, Unfinished, UsageError
from edgewear.study.workers.life import enter
from edgewear.study.workers.processes import Workers, alone
from edgewear.study.workers.stopping import Asked, stop_on_request

Given = TypeVar("Given")
Result = TypeVar("Result")
T = TypeVar("T")
P = ParamSpec("P")
Task = Callable[[int], Result]

CLUSTER_TIMEOUT_S = 10

NOBODY_S = 60.0
"""So long a cluster may be without workers, which may be starting anew."""

LOOKS_S = 0.5
"""Between two looks at what was asked for and at who is there."""

ATTEMPTS = 3
"""A chunk that was alone with a worker when it died is blamed after so many deaths."""


class Later(Protocol):
    """Lets a task be done for each thing given; called for the results."""

    def __call__(
        self, task: Callable[[Given], Result], given: Sequence[Given], /
    ) -> Callable[[], list[Result]]:
        """Begin."""
        ...


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
        present: counts the workers that are there.
        copies: whether workers are copies of this process, so that they start with what it has
            loaded by then; only the first ones are.
    """

    def __init__(
        self,
        make: Callable[[], Executor],
        width: int,
        leave: Callable[[], object] = lambda: None,
        ahead: int = 0,
        present: Callable[[], int] = lambda: 1,
        copies: bool = False,
    ) -> None:
        """Start nothing yet."""
        self.copies = copies
        self._make = make
        self._leave = leave
        self._executor: Executor | None = None
        self._ahead = ahead
        self.present = present
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
        """Let the executor go at once, its worker processes with it."""
        if self._executor is not None:
            _shut(self._executor, wait=False)
            self._executor = None

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


at_once: Later = inline().later
"""In this process, before anything else."""


def processes(
    workers: int, ready: Callable[[], object] | None = None, copies: bool = False
) -> WorkerPool:
    """Make a gang of worker processes.

    Parameters:
        workers: how many.
        ready: what each does first, whatever comes of it; picklable.
        copies: whether those that start first are copies of this process, if it is one thread now
            and when they start; else they are spawned, as those that take their place always are.

    Raises:
        UsageError: fewer than one worker.
    """
    if workers < 1:
        raise UsageError(f"workers: {workers}; at least 1 is allowed")

    kinds = iter([copies])  # in the midst of a study locks are held, which copies would hold on to

    def make() -> Executor:
        bound = threading.current_thread() is threading.main_thread()
        return Workers(workers, enter, (ready, bound), next(kinds, False) and alone())

    return WorkerPool(make, workers + 1, ahead=workers, copies=copies and alone())


def cluster(address: str) -> WorkerPool:
    """Make a gang of an existing dask cluster's workers; they share this machine's folders.

    Parameters:
        address: of the scheduler, for example tcp://host:8786.

    Raises:
        UsageError: nothing answers there, nobody works there, or dask is not installed.
    """
    try:
        from distributed import Client
    except ImportError as error:
        raise UsageError("--cluster needs dask: pip install 'edgewear[cluster]'") from error
    try:
        client = Client(address, timeout=CLUSTER_TIMEOUT_S)
    except (OSError, ValueError) as error:
        raise UsageError(f"no dask scheduler answers at {address}: {error}") from error
    try:
        client.wait_for_workers(1, timeout=CLUSTER_TIMEOUT_S)
    except TimeoutError as error:
        client.close()
        raise UsageError(
            f"the dask scheduler at {address} has no workers: start some with "
            f"`dask worker {address}`"
        ) from error

    def present() -> int:
        return len(client.scheduler_info()["workers"])

    width = max(sum(client.nthreads().values()), 1)
    return WorkerPool(client.get_executor, 2 * width, client.close, present=present)


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
    with stop_on_request() as asked:
        try:
            while suspects := _until_a_death(gang, task, waiting, done, asked):
                _heed(asked)
                for chunk in suspects:
                    _alone(gang, task, chunk, done, blamed)
                    _heed(asked)
        except (KeyboardInterrupt, Interrupted, Unfinished):
            gang.dismiss()
            raise


def _until_a_death(
    gang: WorkerPool,
    task: Task[Result],
    waiting: Iterator[int],
    done: Callable[[Result], None],
    asked: Asked,
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
        for future in _finished(gang, under_way, asked):
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


def _finished(
    gang: WorkerPool, under_way: Iterable[Future[Result]], asked: Asked
) -> set[Future[Result]]:
    """Wait for chunks, as long as somebody works at them and nobody wants to end at once.

    Raises:
        Interrupted: the time in which chunks may be finished is over.
        Unfinished: nobody has been there for long.
    """
    alone_since: float | None = None
    while True:
        found = wait(under_way, timeout=LOOKS_S, return_when=FIRST_COMPLETED).done
        if found:
            return found
        if asked.is_over():
            _heed(asked)
        now = time.monotonic()
        alone_since = (alone_since or now) if gang.present() == 0 else None
        if alone_since is not None and now - alone_since > NOBODY_S:
            raise Unfinished(
                f"no workers for {NOBODY_S:g} s; what is finished is kept, the same command goes on"
            )


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


def _heed(asked: Asked) -> None:
    if asked.is_set():
        raise Interrupted("stopped on request; what is finished is kept, the same command goes on")
