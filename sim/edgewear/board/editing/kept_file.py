"""The scenario's file on disk: read, written whole, held by one board, its draft beside it."""

from __future__ import annotations

import fcntl
import hashlib
import json
import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from edgewear.dataset.door import inside, write_whole
from edgewear.errors import CannotCreate, DatasetError, Locked, UsageError
from edgewear.scenario.text.tree import read_tree

THERE = "is there already and is left alone"


def digest(text: str) -> str:
    """Name a text by what it says."""
    return hashlib.sha256(text.encode()).hexdigest()


@dataclass(frozen=True)
class Draft:
    """Changes that were made and not yet saved."""

    base: str  # the text they were made on
    text: str


@dataclass(frozen=True)
class KeptFile:
    """A scenario's file."""

    path: Path

    @property
    def draft_path(self) -> Path:
        """Where changes are kept that are not yet saved."""
        return self.path.with_name(f".{self.path.name}.draft")

    def read(self) -> str:
        """Read the text with the line ends it has.

        Raises:
            ScenarioError: it cannot be read, is no UTF-8, or too large.
        """
        return read_tree(self.path).text

    def raw(self) -> str | None:
        """Give the text as it is now, without judging it; None where it cannot be read."""
        with suppress(OSError, UnicodeDecodeError):
            return self.path.read_bytes().decode("utf-8-sig")
        return None

    def stamp(self) -> tuple[int, int, int] | None:
        """Tell the file from what was there before, cheaply; None: it is gone."""
        try:
            found = self.path.stat()
        except OSError:
            return None
        return found.st_ino, found.st_mtime_ns, found.st_size

    def write(self, text: str, known: str) -> None:
        """Write the file whole, if it still says what was known of it.

        Parameters:
            text: what it is to say.
            known: digest of what it said when it was read.

        Raises:
            UsageError: somebody else has changed it since.
            CannotWrite: writing broke off; the file is as it was.
        """
        now = self.raw()
        if now is None or digest(now) != known:
            raise UsageError(f"{self.path.name} was changed by something else and is left alone")
        mark = "\ufeff" if self.path.read_bytes().startswith(b"\xef\xbb\xbf") else ""
        _write(self.path, (mark + text).encode())

    def create(self, text: str) -> None:
        """Write a file that is not there yet.

        Raises:
            UsageError: somebody else has made it meanwhile.
            CannotCreate, CannotWrite: it cannot be written.
        """
        if os.path.lexists(self.path):
            raise UsageError(f"{self.path.name} {THERE}")
        content = text.encode()
        write_whole(self.path.parent, self.path.name, lambda s: s.write(content), once=THERE)

    def keep_draft(self, draft: Draft) -> None:
        """Write down what is not yet saved, so that nothing typed is lost."""
        document = {"base": draft.base, "text": draft.text}
        _write(self.draft_path, json.dumps(document, ensure_ascii=False).encode())

    def draft(self) -> Draft | None:
        """Give what was not saved the last time; None: nothing, or nothing that can be read."""
        try:
            path = inside(self.path.parent, self.draft_path.name)
            found = json.loads(path.read_text("utf-8"))
            return Draft(str(found["base"]), str(found["text"]))
        except (DatasetError, OSError, ValueError, KeyError, TypeError, RecursionError):
            return None

    def drop_draft(self) -> None:
        """Take the draft away: everything is saved."""
        with suppress(OSError):
            self.draft_path.unlink()

    @contextmanager
    def held(self) -> Iterator[None]:
        """Hold the file for one board; the operating system lets go when the process ends.

        Raises:
            Locked: another board has it open.
            CannotCreate: nothing can be written beside it.
        """
        lock = self.path.with_name(f".{self.path.name}.lock")
        try:
            held = os.open(lock, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC | os.O_NOFOLLOW, 0o600)
        except OSError as error:
            raise CannotCreate(f"{lock}: cannot be made: {error.strerror}") from error
        try:
            fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:
            os.close(held)
            raise Locked(f"{self.path}: another board has it open") from error
        try:
            yield
        finally:
            with suppress(OSError):
                lock.unlink()
            os.close(held)


def _write(path: Path, content: bytes) -> None:
    """Write a file whole or not at all, keeping who may read it.

    Raises:
        CannotCreate, CannotWrite: it cannot be written; what was there is as it was.
    """
    mode = path.stat().st_mode & 0o7777 if path.exists() else None
    write_whole(path.parent, path.name, lambda stream: stream.write(content), mode=mode)
