"""One thing that a copy of this process does beside it, as often as it is asked for."""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable
from contextlib import suppress
from multiprocessing.connection import Connection, Pipe
from typing import Generic, TypeVar

from edgewear.study.workers.life import enter, undisturbed
from edgewear.study.workers.processes import alone, unwarned

Given = TypeVar("Given")
Result = TypeVar("Result")


class Beside(Generic[Given, Result]):
    """Does a task in a copy of this process; here, where none can be made or it has gone.

    A process, not a pool of one: that would leave a thread here, and a process with threads can
    make no further copies.
    """

    def __init__(
        self, task: Callable[[Given], Result], ready: Callable[[], object] | None = None
    ) -> None:
        """Make the copy.

        Parameters:
            task: what it does; the same here as there.
            ready: what it does first, while nobody waits for it.
        """
        self._task = task
        self._link: Connection | None = None
        if alone():
            mine, its = Pipe()
            how = multiprocessing.get_context("fork")
            self._copy = how.Process(target=_serve, args=(its, task, ready), daemon=True)
            with undisturbed(), unwarned():
                self._copy.start()
            its.close()
            self._link = mine

    def __enter__(self) -> Beside[Given, Result]:
        """The copy is there already."""
        return self

    def __exit__(self, *error: object) -> None:
        """Let it go: it writes nothing."""
        self.close()

    def __call__(self, given: Given) -> Result:
        """Have it done; what fails there is done here, and fails here."""
        with suppress(OSError, EOFError):
            if self._link is not None:
                self._link.send(given)
                found: Result = self._link.recv()
                return found
        self.close()
        return self._task(given)

    def close(self) -> None:
        """Let the copy go."""
        if self._link is not None:
            self._link.close()
            self._link = None
            self._copy.kill()
            self._copy.join()


def _serve(
    link: Connection, task: Callable[[Given], Result], ready: Callable[[], object] | None
) -> None:
    """What the copy does until nobody asks any more."""
    enter(ready, True)
    with suppress(Exception):  # who asked does it again, and says what is wrong
        while True:
            link.send(task(link.recv()))
