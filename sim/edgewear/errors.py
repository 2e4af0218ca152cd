"""What can go wrong for a user, as one tree; each branch knows the exit code it ends with.

EdgewearError                 1   anything below, to catch them all
|- ScenarioError             65   a file that cannot be used; carries every problem found
|  `- Deadlock               65   people who wait for each other for ever
|- RunFailed                  1   a run that could not be computed; kept as a row by a study
|- DeviceFailed               1   a device that was there failed; its study is not finished
|- UsageError                 2   a call that cannot be meant: no such option, a bad number
|- Interrupted              130   stopped on request; what is finished is kept
`- DatasetError              74   a folder that cannot be read or trusted
   |- CannotCreate           73   nowhere to write to
   |- CannotWrite            74   writing broke off: a full disk, a lost mount
   |- Locked                 75   somebody else writes there now
   |- Unfinished             75   stopped half way; the same command resumes it
   `- Mismatch               65   it belongs to another study, version or schema
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from itertools import groupby
from typing import ClassVar, NamedTuple

MOST_SHOWN = 50
"""Problems that are told of one file at once; of the others only their number."""

MOST_CHARACTERS = 600
"""Longest message of a problem; what is longer loses its middle."""

_LONG_VALUE = re.compile(r"""'[^']{120,}'|"[^"]{120,}"|`[^`]{120,}`""")

_UNSEEN = re.compile(
    "[\x00-\x1f\x7f-\x9f\xad\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ud800-\udfff"
    "\ufeff\ufff9-\ufffb\U000e0000-\U000e0fff]"
)


def visible(text: str, line_ends: bool = False) -> str:
    """Show control characters as escapes, so that no text can steer a terminal.

    Parameters:
        text: any.
        line_ends: keep them as they are.
    """
    return _UNSEEN.sub(lambda m: m[0] if line_ends and m[0] == "\n" else _escape(m[0]), text)


def _escape(character: str) -> str:
    return character.encode("unicode_escape", "surrogatepass").decode("ascii")


def shortened(text: str, most: int = MOST_CHARACTERS) -> str:
    """Leave out the middle of long values that a message quotes, then of the message itself."""
    if len(text) <= most:
        return text
    text = _LONG_VALUE.sub(lambda m: f"{m[0][:60]} ... {m[0][-20:]}", text)
    return text if len(text) <= most else f"{text[: most * 2 // 3]} ... {text[-most // 4 :]}"


class Problem(NamedTuple):
    """One thing wrong with a file, at the place where it was typed."""

    file: str
    line: int  # from 1; 0: no position is known
    column: int  # from 1
    address: str  # as in a study: `edges/coping/radius`
    message: str  # what was found, what is allowed

    def __str__(self) -> str:
        """Give the problem on one line: `file:line:column: address: message`."""
        place = f"{self.file}:{self.line}:{self.column}" if self.line else self.file
        return ": ".join(part for part in (place, self.address, self.message) if part)

    def shown(self) -> Problem:
        """Give the problem as it can be shown anywhere: no control characters, nothing endless."""
        return Problem(
            visible(self.file),
            self.line,
            self.column,
            shortened(visible(self.address), 200),
            shortened(visible(self.message)),
        )


class EdgewearError(Exception):
    """Anything a user can be told about in a sentence; never shown with a traceback."""

    exit_code: ClassVar[int] = 1

    def __str__(self) -> str:
        """Give the sentence, whatever a file or a name had in it shown as escapes."""
        return visible(super().__str__(), line_ends=True)


class ScenarioError(EdgewearError):
    """A scenario, library or observations file that cannot be used, with every problem found."""

    exit_code = 65

    def __init__(self, problems: Iterable[Problem]) -> None:
        """Keep the problems in the order of their place in the file, the first of each file.

        Parameters:
            problems: at least one.
        """
        found = sorted(problems, key=lambda p: (p.file, p.line, p.column))
        self.problems = tuple(_first_of_each(found))
        super().__init__("\n".join(map(str, self.problems)))

    def __reduce__(self) -> tuple[type[ScenarioError], tuple[tuple[Problem, ...]]]:
        """Travel whole from a worker process."""
        return type(self), (self.problems,)


def _first_of_each(problems: list[Problem]) -> Iterator[Problem]:
    """Give the first problems of each file, and how many more there are."""
    for _, of_file in groupby(problems, key=lambda p: p.file):
        several = list(of_file)
        yield from (problem.shown() for problem in several[:MOST_SHOWN])
        if len(several) > MOST_SHOWN:
            first = several[MOST_SHOWN]
            more = f"and {len(several) - MOST_SHOWN:,} more from here on: mend these first"
            yield Problem(visible(first.file), first.line, first.column, "", more)


class Deadlock(ScenarioError):
    """A job in which people wait for each other, or for kit nobody returns."""


class RunFailed(EdgewearError):
    """A run that could not be computed; a study keeps it as a row with this reason."""


class UsageError(EdgewearError):
    """A call that cannot be meant: an option nobody defined, a number out of range."""

    exit_code = 2


class DeviceFailed(EdgewearError):
    """A device that was there failed; nothing that a run could help."""


class Interrupted(EdgewearError):
    """Stopped on request; what is finished is kept, and the same command goes on."""

    exit_code = 130


class DatasetError(EdgewearError):
    """A dataset that cannot be read, or whose checksums do not hold."""

    exit_code = 74


class CannotCreate(DatasetError):
    """A folder or file that cannot be made: no permission, or something else in the way."""

    exit_code = 73


class CannotWrite(DatasetError):
    """Writing that broke off; what was finished before is kept."""


class Locked(DatasetError):
    """A folder that another process writes to now."""

    exit_code = 75


class Unfinished(DatasetError):
    """A study stopped half way; the same command resumes it."""

    exit_code = 75


class Mismatch(DatasetError):
    """A folder that belongs to another study, version or schema."""

    exit_code = 65
