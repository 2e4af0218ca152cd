"""One writer a folder: a lock that dies with its holder."""

from __future__ import annotations

import fcntl
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from edgewear.dataset.door import kept_open, make_folder
from edgewear.errors import Locked

NAME = "log/lock"


@contextmanager
def locked(root: Path) -> Iterator[None]:
    """Hold a folder for writing; the operating system lets go when the process ends, however.

    Raises:
        Locked: somebody else writes there now.
        CannotCreate: nowhere to write to.
    """
    make_folder(root)
    with kept_open(root, NAME, os.O_RDWR) as handle:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:
            raise Locked(f"{root}: another process writes to this folder now") from error
        yield
