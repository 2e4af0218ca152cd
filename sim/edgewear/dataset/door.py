"""The one way into a folder: whole files or none, and nothing is reached through a link.

A folder may have been made by somebody else. Whatever lies below it is entered step by step, so a
link in it leads nowhere: neither to what is written nor to what is removed.
"""

from __future__ import annotations

import errno
import fcntl
import io
import os
import re
import stat
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path, PurePosixPath
from typing import IO, TYPE_CHECKING, cast

from edgewear.errors import CannotCreate, CannotWrite, DatasetError, EdgewearError

if TYPE_CHECKING:
    from _typeshed import ReadableBuffer

TEMPORARY = ".unfinished"
"""What a file's name ends in until it is complete; swept away before a study resumes."""

HALF = re.compile(rf"(.+)\.\d+{re.escape(TEMPORARY)}", re.ASCII)
"""A file that is not complete: its name, and the number of the process that writes it."""

_FOLDER = os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW | os.O_CLOEXEC
_NEW = os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW | os.O_CLOEXEC
_LOOKED_AT = os.O_NOFOLLOW | os.O_CLOEXEC | os.O_NONBLOCK  # a pipe would wait for a reader
_KEPT = os.O_CREAT | _LOOKED_AT
_MODE = 0o666  # less what the user's mask takes away


@contextmanager
def writing(path: Path) -> Iterator[None]:
    """Turn what the operating system says of a write into an error with an exit code.

    Raises:
        CannotCreate: no permission, a read-only folder, something in the way.
        CannotWrite: anything else, a full disk for one.
    """
    try:
        yield
    except EdgewearError:
        raise
    except OSError as error:
        sentence = f"{path}: cannot be written: {error.strerror or error}"
        if error.errno in (errno.EACCES, errno.EPERM, errno.EROFS, errno.ENOTDIR, errno.EISDIR):
            raise CannotCreate(sentence) from error
        raise CannotWrite(sentence) from error


def make_folder(folder: Path) -> None:
    """Make a folder and those above it.

    Raises:
        CannotCreate: no permission, or a file is in the way.
        CannotWrite: the disk is full.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        kind = CannotWrite if error.errno in (errno.ENOSPC, errno.EDQUOT) else CannotCreate
        raise kind(f"{folder}: cannot make this folder: {error.strerror}") from error


def write_whole(
    root: Path,
    name: str,
    write: Callable[[IO[bytes]], object],
    once: str | None = None,
    mode: int | None = None,
) -> None:
    """Write a file below a folder, whole or not at all.

    Parameters:
        root: made where it is missing.
        name: path below it, with forward slashes.
        write: is given the stream.
        once: what is said where a file is there already; None: it is replaced.
        mode: who may read and write it; by default as the user's mask has it.

    Raises:
        CannotCreate: nowhere to write to, a link in the way, or the file is there already.
        CannotWrite: writing broke off; what was there before is there still.
    """
    make_folder(root)
    with writing(root / name), _held(root, name, make=True) as (folder, last):
        _clear_halves(folder, last)
        half = f"{last}.{os.getpid()}{TEMPORARY}"
        try:
            with _begun(folder, half) as handle:
                _fill(handle, write, mode)
                if once is None:
                    os.rename(half, last, src_dir_fd=folder, dst_dir_fd=folder)
                else:
                    _put_once(folder, half, last, f"{root / name}: {once}")
        finally:
            with suppress(OSError):
                _unlink(folder, half)
        os.fsync(folder)


@contextmanager
def kept_open(root: Path, name: str, flags: int) -> Iterator[int]:
    """Open a file below a folder that stays between writes, made where it is missing.

    Parameters:
        root: the folder.
        name: path below it, with forward slashes.
        flags: of `os.open`, such as O_RDWR.

    Raises:
        CannotCreate: a link, a pipe or anything else but a file is in the way.
    """
    with writing(root / name), _held(root, name, make=True) as (folder, last):
        try:
            handle = os.open(last, flags | _KEPT, _MODE, dir_fd=folder)
        except OSError as error:
            if error.errno in (errno.ELOOP, errno.ENXIO):
                raise _in_the_way(root / name) from error
            raise
    try:
        if not stat.S_ISREG(os.fstat(handle).st_mode):
            raise _in_the_way(root / name)
        yield handle
    finally:
        os.close(handle)


def append(root: Path, name: str, text: str) -> None:
    """Add a text to the end of a file below a folder, there on the disk when this returns.

    Raises:
        CannotCreate, CannotWrite: it cannot.
    """
    with kept_open(root, name, os.O_WRONLY | os.O_APPEND) as handle, writing(root / name):
        _write_all(handle, text.encode())
        os.fsync(handle)


def remove(root: Path, name: str) -> bool:
    """Remove one file below a folder; a link there goes, what it points to stays.

    Returns:
        Whether it was there.

    Raises:
        CannotCreate: a folder on the way is a link, or nothing may be removed.
    """
    with writing(root / name):
        try:
            with _held(root, name, make=False) as (folder, last):
                os.unlink(last, dir_fd=folder)
        except FileNotFoundError:
            return False
        return True


def names_in(root: Path, folder: str = "") -> list[str]:
    """List what lies in a folder below `root`, sorted; nothing where it is missing or a link.

    Raises:
        DatasetError: it cannot be read.
    """
    try:
        with _held(root, f"{folder}/x" if folder else "x", make=False) as (handle, _):
            return sorted(os.listdir(handle))
    except (FileNotFoundError, NotADirectoryError, CannotCreate):
        return []
    except OSError as error:
        raise DatasetError(f"{root / folder}: cannot be read: {error.strerror}") from error


def inside(root: Path, name: str) -> Path:
    """Give the path of a file below a folder, for reading.

    Raises:
        DatasetError: it is not there, is no plain file, or lies behind a link.
    """
    path = root
    for part in _parts(root, name):
        path /= part
        try:
            mode = path.lstat().st_mode
        except OSError as error:
            raise DatasetError(f"{root / name}: cannot be read: {error.strerror}") from error
        if stat.S_ISLNK(mode):
            raise DatasetError(f"{path}: is a link; a dataset holds its files itself")
    if not stat.S_ISREG(mode):
        raise DatasetError(f"{path}: is no file")
    return path


def _parts(root: Path, name: str) -> tuple[str, ...]:
    parts = PurePosixPath(name).parts
    if not parts or PurePosixPath(name).is_absolute() or ".." in parts or "\0" in name:
        raise CannotCreate(f"{root}: {name!r} is no name of a file in it")
    return parts


def _in_the_way(path: Path) -> CannotCreate:
    return CannotCreate(f"{path}: a link, or something else that is no file or folder of ours")


@contextmanager
def _held(root: Path, name: str, make: bool) -> Iterator[tuple[int, str]]:
    """Hold the folder in which a file lies, entered from `root` on without following a link."""
    *folders, last = _parts(root, name)
    handle = os.open(root, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
    try:
        path = root
        for folder in folders:
            path /= folder
            inner = _entered(handle, folder, path, make)
            os.close(handle)
            handle = inner
        yield handle, last
    finally:
        os.close(handle)


def _entered(handle: int, folder: str, path: Path, make: bool) -> int:
    if make:
        with suppress(FileExistsError):
            os.mkdir(folder, dir_fd=handle)
    try:
        return os.open(folder, _FOLDER, dir_fd=handle)
    except OSError as error:
        if error.errno in (errno.ELOOP, errno.ENOTDIR):
            raise _in_the_way(path) from error
        raise


class _Raw(io.RawIOBase):
    """A file by its number; every piece goes through `os.write`, where a test can break it off."""

    def __init__(self, handle: int) -> None:
        super().__init__()
        self._handle = handle

    def writable(self) -> bool:
        return True

    def write(self, content: ReadableBuffer, /) -> int:
        return _write_all(self._handle, content)


@contextmanager
def _begun(folder: int, half: str) -> Iterator[int]:
    """Make a file that is not complete yet, locked for as long as it is not."""
    while True:
        handle = os.open(half, _NEW, _MODE, dir_fd=folder)
        with suppress(OSError):  # a disk without locks: then nobody can take this for left behind
            fcntl.flock(handle, fcntl.LOCK_EX)
        if os.fstat(handle).st_nlink:
            break
        os.close(handle)  # taken for left behind before it was locked: once more
    try:
        yield handle
    finally:
        os.close(handle)


def _clear_halves(folder: int, last: str) -> None:
    """Remove what processes that were killed had begun of this very file.

    Only plain files whose name says so and that nobody holds locked.
    """
    for name in os.listdir(folder):
        found = name.endswith(TEMPORARY) and HALF.fullmatch(name)
        if found and found[1] == last:
            with suppress(OSError):  # a link, a folder, somebody else's, or being written
                _clear(folder, name)


def _clear(folder: int, half: str) -> None:
    handle = os.open(half, os.O_RDWR | _LOOKED_AT, dir_fd=folder)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        if stat.S_ISREG(os.fstat(handle).st_mode):
            _unlink(folder, half)
    finally:
        os.close(handle)


def _fill(handle: int, write: Callable[[IO[bytes]], object], mode: int | None) -> None:
    if mode is not None:
        os.fchmod(handle, mode)
    write(cast("IO[bytes]", _Raw(handle)))
    os.fsync(handle)


def _write_all(handle: int, content: ReadableBuffer) -> int:
    left = memoryview(content).cast("B")
    size = left.nbytes
    while left:
        left = left[os.write(handle, left) :]
    return size


def _put_once(folder: int, half: str, last: str, there: str) -> None:
    try:
        os.link(half, last, src_dir_fd=folder, dst_dir_fd=folder, follow_symlinks=False)
    except FileExistsError as error:
        raise CannotCreate(there) from error


def _unlink(folder: int, name: str) -> None:
    with suppress(FileNotFoundError):
        os.unlink(name, dir_fd=folder)
