"""One writer a folder: a lock that dies with its holder."""

from __future__ import annotations

import fcntl
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from edgewear.dataset.files import make_folder, writing
from edgewear.errors import Locked

NAME = "log/lock"


@contextmanager
def locked(root: Path) -> Iterator[None]:
    """Hold a folder for writing; the operating system lets go when the process ends, however.

    Raises:
        Locked: somebody else writes there now.
        CannotCreate: nowhere to write to.
    """
    path = root / NAME
    make_folder(path.parent)
    with writing(path):
        handle = os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o644)
    try:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:
            raise Locked(f"{root}: another process writes to this folder now") from error
        yield
    finally:
        os.close(handle)
