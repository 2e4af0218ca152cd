"""One scenario under change: its text, what can be undone, what the file says meanwhile."""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from edgewear.board.editing.changes import Change, Deepen, Move, Shift, changed
from edgewear.board.editing.kept_file import Draft, KeptFile, digest
from edgewear.board.editing.splice import spliced
from edgewear.errors import EdgewearError, Problem, ScenarioError, UsageError
from edgewear.scenario.text.tree import parse_tree

if TYPE_CHECKING:
    from edgewear.scenario import Scenario

MOST_UNDONE = 200
"""Steps that can be taken back."""


HELD_DOWN_S = 1.0
"""Moves of one thing that follow each other so soon are taken back together."""


@dataclass(frozen=True)
class Read:
    """A text and what came of reading it."""

    text: str
    scenario: Scenario | None  # None: it has problems
    problems: tuple[Problem, ...] = ()


@dataclass
class Session:
    """A scenario's text under change; the file stays as it is until it is saved."""

    file: KeptFile
    now: Read
    saved: str  # what the file said when it was last read or written
    revision: int = 0
    undone: list[str] = field(default_factory=list)
    redone: list[str] = field(default_factory=list)
    beside: str | None = None  # what something else wrote to the file meanwhile
    told: str = ""  # what happened last, in a sentence
    _made: list[tuple[Change, ...]] = field(default_factory=list)
    _last_s: float = -math.inf  # when something was changed last
    _stamp: tuple[int, int, int] | None = None
    _tried: Read | None = None  # what a change looked at last would make

    @classmethod
    def open(cls, file: KeptFile) -> Session:
        """Read a file, and take up what was not saved the last time.

        Raises:
            ScenarioError: it cannot be read, or is no YAML at all.
        """
        text = file.read()
        session = cls(file, read(text, str(file.path)), text)
        session._stamp = file.stamp()
        draft = file.draft()
        if draft is not None and draft.text != text:
            session._take_up(draft)
        return session

    @property
    def dirty(self) -> bool:
        """Whether something is not saved."""
        return self.now.text != self.saved

    def _take_up(self, draft: Draft) -> None:
        found = read(draft.text, str(self.file.path))
        if draft.base != self.saved:
            self.beside, self.saved = self.saved, draft.base
            self.told = "Changes that were not saved are here; the file was changed since."
        else:
            self.told = "Changes that were not saved the last time are taken up again."
            self.undone.append(self.now.text)
        self.now = found
        self.revision += 1

    def change(self, revision: int, changes: Sequence[Change]) -> None:
        """Make some changes together, or none of them.

        Raises:
            UsageError: the page is behind, or a change leads nowhere.
            ScenarioError: what would come out cannot be used.
        """
        self._at(revision)
        found = self.with_changes(changes)
        if len(found.problems) > len(self.now.problems):
            raise ScenarioError(found.problems)
        if found.text == self.now.text:
            return
        if not self._goes_on(changes):
            self._undoable()
        self.redone.clear()
        self._last_s = time.monotonic()
        self._made.append(tuple(changes))
        self._say(found, "")

    def with_changes(self, changes: Sequence[Change]) -> Read:
        """Give what some changes would make of the text.

        Raises:
            UsageError: a change that leads nowhere.
            ScenarioError: the text cannot be read any more.
        """
        data = parse_tree(self.now.text, str(self.file.path)).data
        text = spliced(self.now.text, changed(data, changes))
        if text == self.now.text:
            return self.now
        tried = self._tried
        if tried is None or tried.text != text or not _alone(tried):
            tried = self._tried = read(text, str(self.file.path))
        return tried

    def _goes_on(self, changes: Sequence[Change]) -> bool:
        """Whether changes only go on with the last ones, as while a key is held down."""
        if not self._made or not self.undone or self.redone:
            return False
        soon = time.monotonic() - self._last_s < HELD_DOWN_S
        return soon and bool(_dragged(changes)) and _dragged(changes) == _dragged(self._made[-1])

    def undo(self, revision: int) -> None:
        """Take the last change back.

        Raises:
            UsageError: the page is behind, or there is nothing to take back.
        """
        self._at(revision)
        if not self.undone:
            raise UsageError("nothing to take back")
        self.redone.append(self.now.text)
        self._made.append(())
        self._say(read(self.undone.pop(), str(self.file.path)), "Taken back.")

    def redo(self, revision: int) -> None:
        """Make again what was taken back last.

        Raises:
            UsageError: the page is behind, or nothing was taken back.
        """
        self._at(revision)
        if not self.redone:
            raise UsageError("nothing was taken back")
        self._undoable()
        self._made.append(())
        self._say(read(self.redone.pop(), str(self.file.path)), "Made again.")

    def save(self, revision: int) -> None:
        """Write the file, if nothing else has changed it.

        Raises:
            UsageError: nothing to save, the page is behind, or the file was changed underneath.
            ScenarioError: it cannot be used as it is.
            CannotWrite: writing broke off; the file is as it was, the changes are kept.
        """
        self._at(revision)
        if self.now.problems:
            raise ScenarioError(self.now.problems)
        self.look()
        if self.beside is not None:
            raise UsageError("the file was changed by something else: choose which one stays")
        if not self.dirty:
            raise UsageError("nothing to save: the file says all this already")
        self.file.write(self.now.text, digest(self.saved))
        self.saved, self._stamp = self.now.text, self.file.stamp()
        self.file.drop_draft()
        self.revision += 1
        self.told = f"Saved to {self.file.path.name}."

    def look(self) -> bool:
        """Look whether something else has changed the file; True: the page must know.

        With nothing unsaved its text is taken, else both stay until somebody chooses.
        """
        stamp = self.file.stamp()
        if stamp == self._stamp:
            return False
        text = self.file.raw()
        if text is None:  # gone or half written: the next look will tell
            return False
        self._stamp = stamp
        if text in (self.saved, self.beside):
            return False
        if text == self.now.text or not self.dirty:
            self._take(text, "The file was changed by something else and is read again.")
            return True
        self.beside = text
        self.revision += 1
        self.told = "The file was changed by something else; nothing of either is lost yet."
        return True

    def take_file(self, revision: int) -> None:
        """Go on with what something else wrote; one's own can be had back by undo.

        Raises:
            UsageError: the page is behind, or there is no other text.
        """
        self._at(revision)
        if self.beside is None:
            raise UsageError("nothing else has changed the file")
        text, self.beside = self.beside, None
        self._take(text, "The file's text is shown; undo gives yours back.")

    def put_on_top(self, revision: int) -> None:
        """Make one's own changes again on what something else wrote.

        Raises:
            UsageError: the page is behind, or a change leads nowhere there.
            ScenarioError: what would come out cannot be used.
        """
        self._at(revision)
        if self.beside is None:
            raise UsageError("nothing else has changed the file")
        text = self.beside
        base = parse_tree(self.saved, str(self.file.path)).data
        mine = parse_tree(self.now.text, str(self.file.path)).data
        theirs = parse_tree(text, str(self.file.path)).data
        found = read(spliced(text, merged(base, mine, theirs)), str(self.file.path))
        if found.problems:
            raise ScenarioError(found.problems)
        self.beside = None
        self._undoable()
        self.saved = text
        self._say(found, "Your changes are made on the file's new text; it is not saved yet.")

    def _take(self, text: str, told: str) -> None:
        self._undoable()
        self.saved = text
        self._made.append(())
        self._say(read(text, str(self.file.path)), told)

    def _undoable(self) -> None:
        self.undone.append(self.now.text)
        del self.undone[:-MOST_UNDONE]

    def _at(self, revision: int) -> None:
        if revision != self.revision:
            raise Behind("the page is behind: it was changed elsewhere, and is shown anew")

    def _say(self, found: Read, told: str) -> None:
        self.now, self.told = found, told
        self.revision += 1
        if self.dirty:
            self.file.keep_draft(Draft(self.saved, self.now.text))
        else:
            self.file.drop_draft()


def _alone(read: Read) -> bool:
    """Tell whether a text was read with no other file, which may say something else meanwhile."""
    return read.scenario is not None and read.scenario.library_source is None


def _dragged(changes: Sequence[Change]) -> list[str]:
    """Name what is dragged or nudged; nothing where anything else is changed too."""
    found = [one.name for one in changes if isinstance(one, Move | Shift | Deepen)]
    return found if len(found) == len(changes) else []


class Behind(UsageError):
    """A change made on a page that does not show what is there now."""


def read(text: str, path: str) -> Read:
    """Read a scenario's text, and hold it against its own geometry."""
    from edgewear.rigging import problems
    from edgewear.scenario import load_text
    from edgewear.scenario.read.reading import problems_at

    try:
        scenario = load_text(text, path)
        found = problems_at(scenario, problems(scenario))
    except ScenarioError as error:
        return Read(text, None, error.problems)
    except EdgewearError as error:
        return Read(text, None, (Problem(path, 0, 0, "", str(error)),))
    return Read(text, None if found else scenario, tuple(found))


def merged(base: object, mine: object, theirs: object) -> dict[str, object]:
    """Give what two hands made of one mapping; where both changed one value, mine."""
    found = _merged(base, mine, theirs)
    if not isinstance(found, dict):
        raise UsageError("the two texts cannot be put together")
    return found


def _merged(base: object, mine: object, theirs: object) -> object:
    if mine in (base, theirs):
        return theirs
    if theirs == base:
        return mine
    if not (isinstance(mine, dict) and isinstance(theirs, dict) and isinstance(base, dict)):
        return mine
    gone = {key for key in base if key not in mine} | {
        key for key in base if key not in theirs and mine.get(key) == base[key]
    }
    keys = [key for key in dict.fromkeys([*theirs, *mine]) if key not in gone]
    return {
        key: _merged(base.get(key), mine.get(key, theirs.get(key)), theirs.get(key, mine.get(key)))
        for key in keys
    }
