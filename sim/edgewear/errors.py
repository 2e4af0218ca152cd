"""What can go wrong for a user, as one tree; each branch knows the exit code it ends with.

EdgewearError                 1   anything below, to catch them all
|- ScenarioError             65   a file that cannot be used; carries every problem found
|  `- Deadlock               65   people who wait for each other for ever
|- RunFailed                  1   a run that could not be computed; kept as a row by a study
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

from collections.abc import Iterable
from typing import ClassVar, NamedTuple


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


class EdgewearError(Exception):
    """Anything a user can be told about in a sentence; never shown with a traceback."""

    exit_code: ClassVar[int] = 1


class ScenarioError(EdgewearError):
    """A scenario, library or observations file that cannot be used, with every problem found."""

    exit_code = 65

    def __init__(self, problems: Iterable[Problem]) -> None:
        """Keep the problems in the order of their place in the file.

        Parameters:
            problems: at least one.
        """
        self.problems = tuple(sorted(problems, key=lambda p: (p.file, p.line, p.column)))
        super().__init__("\n".join(map(str, self.problems)))

    def __reduce__(self) -> tuple[type[ScenarioError], tuple[tuple[Problem, ...]]]:
        """Travel whole from a worker process."""
        return type(self), (self.problems,)


class Deadlock(ScenarioError):
    """A job in which people wait for each other, or for kit nobody returns."""


class RunFailed(EdgewearError):
    """A run that could not be computed; a study keeps it as a row with this reason."""


class UsageError(EdgewearError):
    """A call that cannot be meant: an option nobody defined, a number out of range."""

    exit_code = 2


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
