"""The one door for files that people hand in: opened, measured and decoded before anybody reads.

A scenario, a library, a table, readings, a log of a rope, a file of tests: all come in here. Only a
regular file is opened, never a pipe or a device, which could keep the reader waiting for ever. It
is read up to a limit and no further, and it is UTF-8 without control characters, so that no text of
a file can reach a terminal and be obeyed there.
"""

from __future__ import annotations

import os
import re
import stat
from pathlib import Path
from typing import NamedTuple

from edgewear.errors import Problem, ScenarioError


class FileLimits(NamedTuple):
    """What a kind of file is held to."""

    what: str
    most_bytes: int


SCENARIO = FileLimits("scenario, library or file of tests", 1_000_000)
TABLE = FileLimits("table of a study or of tests", 64_000_000)
LOG = FileLimits("log of ropes", 64_000_000)
RECORD = FileLimits("record of ropes", 1_000_000_000)
KINDS = (SCENARIO, TABLE, LOG, RECORD)
"""Every kind of file that comes in through this door, for the reference page."""

MOST_DEPTH = 20
"""Levels of a YAML file."""

MOST_VALUES = 100_000
"""Values of a YAML file."""

MOST_TEXT = 4_000
"""Characters of one value or cell."""

MOST_KEY = 400
"""Characters of a key."""

MOST_COLUMNS = 2_000
"""Columns of a table."""

MOST_CELLS = 20_000_000
"""Cells of a table, rows times columns; longer studies are drawn, not typed."""

MOST_UNPACKED = 500_000_000
"""Bytes of a parquet table's columns once unpacked."""

_OTHER_ENCODINGS = (
    (b"\xff\xfe\x00\x00", "UTF-32"),
    (b"\x00\x00\xfe\xff", "UTF-32"),
    (b"\xff\xfe", "UTF-16"),
    (b"\xfe\xff", "UTF-16"),
)

_UNWANTED = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f"  # control characters but tab and line ends
    "\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069"  # ends of lines and turns of direction, unseen
    "\ufeff\ufff9-\ufffb\ufffe\uffff\ud800-\udfff\U000e0000-\U000e0fff]"
)


def unwanted(text: str) -> re.Match[str] | None:
    """Find the first character that no text of a file may have; None: there is none."""
    return _UNWANTED.search(text)


def unwanted_words(character: str) -> str:
    """Say that a character is not allowed, without printing it."""
    return f"character U+{ord(character):04X} is not allowed: it cannot be seen, leave it out"


def read_text(path: str | Path, limits: FileLimits) -> str:
    """Read a file as text.

    Raises:
        ScenarioError: it cannot be opened, is too large, no UTF-8, or has control characters.
    """
    return decoded(read_bytes(path, limits), str(path))


def read_bytes(path: str | Path, limits: FileLimits) -> bytes:
    """Read a file whole.

    Raises:
        ScenarioError: it cannot be opened, is no regular file, or is too large.
    """
    raw = read_head(path, limits.most_bytes + 1)
    if len(raw) > limits.most_bytes:
        message = f"larger than {limits.most_bytes:,} bytes, too large for a {limits.what}"
        raise ScenarioError([Problem(str(path), *_position(raw, limits.most_bytes), "", message)])
    return raw


def read_head(path: str | Path, count: int) -> bytes:
    """Read the first bytes of a regular file; what is anything else is not even opened.

    Raises:
        ScenarioError: it cannot be opened, or is no regular file.
    """
    file = str(path)
    try:
        _look_at(file, os.stat(file))
        handle = os.open(
            file,
            os.O_RDONLY
            | getattr(os, "O_NONBLOCK", 0)  # should a pipe take its place in between
            | getattr(os, "O_CLOEXEC", 0)
            | getattr(os, "O_BINARY", 0),
        )
        with open(handle, "rb") as stream:
            _look_at(file, os.fstat(stream.fileno()))
            return stream.read(count)
    except OSError as error:
        reason = error.strerror or str(error)
        raise ScenarioError([Problem(file, 0, 0, "", f"cannot be read: {reason}")]) from error
    except ValueError as error:  # a name that no file system has, with a zero in it for one
        message = "cannot be read: no file can have this name"
        raise ScenarioError([Problem(file, 0, 0, "", message)]) from error


def _look_at(file: str, found: os.stat_result) -> None:
    """Refuse what is no regular file."""
    if stat.S_ISREG(found.st_mode):
        return
    kinds = {
        stat.S_IFDIR: "a folder",
        stat.S_IFIFO: "a pipe",
        stat.S_IFSOCK: "a socket",
        stat.S_IFCHR: "a device",
        stat.S_IFBLK: "a device",
    }
    what = kinds.get(stat.S_IFMT(found.st_mode), "something else")
    raise ScenarioError([Problem(file, 0, 0, "", f"is {what}: a regular file is due")])


def decoded(raw: bytes, file: str) -> str:
    """Decode UTF-8, a mark of it at the beginning allowed, and nothing else.

    Parameters:
        raw: the content of a file.
        file: its name, for messages.

    Raises:
        ScenarioError: another encoding, or control characters, by line and column.
    """
    for mark, name in _OTHER_ENCODINGS:
        if raw.startswith(mark):
            message = f"this is {name}, not UTF-8: save the file as UTF-8"
            raise ScenarioError([Problem(file, 1, 1, "", message)])
    try:
        text = raw.decode().removeprefix("\ufeff")  # utf-8-sig counts a wrong byte from the mark
    except UnicodeDecodeError as error:
        message = f"byte 0x{raw[error.start]:02x} is not UTF-8: save the file as UTF-8"
        place = _position(raw, error.start)
        raise ScenarioError([Problem(file, *place, "", message)]) from error
    refuse_unwanted(text, file)
    return text


def refuse_unwanted(text: str, file: str) -> None:
    """Refuse control characters.

    Raises:
        ScenarioError: by line and column.
    """
    found = unwanted(text)
    if found is not None:
        line, column = place_in(text, found.start())
        message = unwanted_words(found[0])
        raise ScenarioError([Problem(file, line, column, "", message)])


_OTHER_SEPARATORS = {";": "semicolons", "\t": "tabs"}
_QUOTED = re.compile(r'"(?:[^"]|"")*"')


def refuse_other_separators(text: str, file: str) -> None:
    """Refuse a table whose heading has more semicolons or tabs than commas between its cells.

    Parameters:
        text: of a CSV file.
        file: its name, for messages.

    Raises:
        ScenarioError: at the first of them.
    """
    lines = enumerate(text.split("\n"), 1)
    number, heading = next(((n, line) for n, line in lines if line.strip()), (1, ""))
    # what is quoted separates nothing
    bare = _QUOTED.sub(lambda found: "x" * len(found[0]), heading)
    most = max(_OTHER_SEPARATORS, key=bare.count)
    if bare.count(most) > bare.count(","):
        message = (
            f"the cells are separated by {_OTHER_SEPARATORS[most]}: commas are due between cells, "
            "and a point in numbers (2.5, not 2,5); save the table so"
        )
        raise ScenarioError([Problem(file, number, bare.index(most) + 1, "", message)])


def place_in(text: str, at: int) -> tuple[int, int]:
    """Give line and column, from 1, of a character of a text."""
    return text.count("\n", 0, at) + 1, at - (text.rfind("\n", 0, at) + 1) + 1


def _position(raw: bytes, at: int) -> tuple[int, int]:
    """Give line and column, from 1, of a byte; the column counts characters where it can."""
    start = raw.rfind(b"\n", 0, at) + 1
    before = raw[start:at].decode("utf-8", "replace").removeprefix("\ufeff")
    return raw.count(b"\n", 0, at) + 1, len(before) + 1
