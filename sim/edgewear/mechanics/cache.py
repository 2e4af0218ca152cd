"""Keep numba's on-disk cache apart for every state of the kernel sources."""

from __future__ import annotations

import contextlib
import hashlib
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

import numba


def sources_hash() -> str:
    """Hash of every kernel source and of the array layout, as 16 hexadecimal digits."""
    here = Path(__file__).parent
    digest = hashlib.sha256(numba.__version__.encode())
    for source in [*sorted(here.rglob("*.py")), here.parent / "layout.py"]:
        digest.update(
            source.relative_to(here.parent).as_posix().encode() + b"\0" + source.read_bytes()
        )
    return digest.hexdigest()[:16]


def _writable(folder: Path) -> bool:
    """Whether a file can be made in `folder`, which is created if it is missing."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            return True
    except OSError:
        return False


def cache_folder() -> Path | None:
    """Folder for compiled kernels of these sources, or None where nothing can be written.

    `EDGEWEAR_CACHE` names another parent folder; else the user's cache folder is taken.
    numba itself does not notice edits in other files, so the folder carries the sources' hash.
    """
    named = os.environ.get("EDGEWEAR_CACHE")
    parents = [Path(named)] if named else []
    base = os.environ.get("XDG_CACHE_HOME")
    with contextlib.suppress(RuntimeError):  # no home folder
        parents.append((Path(base) if base else Path.home() / ".cache") / "edgewear")
    for parent in parents:
        folder = parent / f"kernels-{sources_hash()}"
        if _writable(folder):
            return folder
    return None


def enable() -> bool:
    """Point numba at the folder of these sources; False: compile afresh in every process."""
    folder = cache_folder()
    if folder is None:
        return False
    numba.config.CACHE_DIR = str(folder)
    return True


CACHE = enable()
"""Whether entry points may ask numba to cache them on disk."""


@contextlib.contextmanager
def one_at_a_time(name: str) -> Iterator[None]:
    """Let one process after the other compile what `name` calls; those who wait find it made.

    Where files cannot be locked, each compiles for itself.
    """
    with contextlib.ExitStack() as kept:
        with contextlib.suppress(ImportError, OSError):
            import fcntl

            if CACHE:
                file = Path(numba.config.CACHE_DIR) / f"{name}.lock"
                handle = kept.enter_context(file.open("w"))
                fcntl.flock(handle, fcntl.LOCK_EX)
        yield
