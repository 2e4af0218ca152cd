"""The one door out: streams that take any text and lead anywhere, or nowhere.

What is printed to stdout is what somebody asked for: where it cannot be written, the command ends
and says so. What is told on stderr is for whoever listens: a study does not end over it.
"""

from __future__ import annotations

import io
import os
import select
import sys
from typing import TYPE_CHECKING, TextIO

if TYPE_CHECKING:
    from typing_extensions import Buffer

STDIN, STDOUT, STDERR = 0, 1, 2


class Broken(Exception):
    """Standard output cannot be written to; the cause is what the system said.

    No `OSError`, which whoever guards files of ours would take for one of theirs.
    """


class _Way(io.FileIO):
    """A descriptor to write to, which waits for a reader who is slow."""

    def write(self, raw: Buffer) -> int:
        """Write some bytes; give how many."""
        while True:
            try:
                written: int | None = super().write(raw)
            except OSError as error:
                return self.fail(error, len(memoryview(raw)))
            if written is not None:
                return written
            select.select([], [self.fileno()], [])

    def fail(self, error: OSError, size: int) -> int:
        """Deal with what cannot be written."""
        raise Broken from error


class _Told(_Way):
    """A descriptor to which writing never fails."""

    def fail(self, error: OSError, size: int) -> int:
        """Let it go: nobody listens."""
        return size


def open_streams() -> None:
    """Make stdout and stderr take any text, and give those that are closed a place.

    Where a number is free, the next file that is opened gets it, and the next text with it.
    """
    for number in (STDIN, STDOUT, STDERR):
        try:
            os.fstat(number)
        except OSError:
            os.set_inheritable(os.open(os.devnull, os.O_RDWR), True)  # the lowest free number
    if sys.stdin is None:
        sys.stdin = open(STDIN, closefd=False)  # noqa: SIM115
    sys.stdout = _opened(sys.stdout, STDOUT, _Way)
    sys.stderr = _opened(sys.stderr, STDERR, _Told)


def _opened(stream: TextIO | None, number: int, way: type[_Way]) -> TextIO:
    """Open a stream again; one that somebody put in its place stays."""
    if stream is not None and not _leads_to(stream, number):
        return stream
    encoding = "utf-8" if stream is None else stream.encoding
    raw = way(number, "wb", closefd=False)
    return io.TextIOWrapper(
        io.BufferedWriter(raw),
        encoding,
        "backslashreplace",
        line_buffering=number == STDERR or raw.isatty(),
    )


def _leads_to(stream: TextIO, number: int) -> bool:
    try:
        return stream.fileno() == number
    except (OSError, AttributeError):  # a place in memory has no number
        return False


def flush() -> None:
    """Write what is still held back.

    Raises:
        Broken: it cannot be written.
    """
    sys.stdout.flush()


def why_broken(broken: Broken) -> str:
    """Say why standard output cannot be written; nothing where its reader has left on purpose.

    What is still held back goes nowhere.
    """
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, STDOUT)
    os.close(nowhere)
    cause = broken.__cause__
    if isinstance(cause, BrokenPipeError):
        return ""
    return f"standard output: {getattr(cause, 'strerror', None) or cause}"
