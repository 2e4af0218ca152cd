"""Reading YAML into plain text values that keep their place in the file.

Every scalar stays the text that was typed; nothing is turned into a number, a date or a truth
value here. What could surprise a reader of the file is refused: keys given twice, anchors and
aliases, `<<`, tags, several documents, and files beyond the caps.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import yaml

from edgewear import incoming
from edgewear.errors import Problem, ScenarioError

Path_ = tuple[str | int, ...]
"""Keys and list indices (from 0) from the top of a file to a value."""

_LOADER = getattr(yaml, "CBaseLoader", yaml.BaseLoader)  # the same events, but slower, without C

MAX_BYTES = incoming.SCENARIO.most_bytes
MAX_DEPTH = incoming.MOST_DEPTH
MAX_VALUES = incoming.MOST_VALUES
MAX_TEXT = incoming.MOST_TEXT
MAX_PROBLEMS = 1_000
"""Problems after which nothing more of a file is looked at."""


@dataclass
class Tree:
    """A file's values and where each was typed."""

    file: str
    text: str
    data: Any = None  # what was typed: any tree, read before it is checked
    values: dict[Path_, tuple[int, int]] = field(default_factory=dict)
    """Path -> line and column (from 1) of the value."""
    keys: dict[Path_, tuple[int, int]] = field(default_factory=dict)
    """Path -> line and column of the key."""
    problems: list[Problem] = field(default_factory=list)

    def place(self, path: Path_, *, key: bool = False) -> tuple[int, int]:
        """Give the line and column of a value or key, or of the nearest thing around it."""
        kept = resolve_path(self.data, path)
        if key and kept in self.keys:
            return self.keys[kept]
        while kept and kept not in self.values:
            kept = kept[:-1]
        return self.values.get(kept, (1, 1))

    def report(self, path: Path_, message: str, *, key: bool = False) -> None:
        """Note something wrong at a value or at a key."""
        line, column = self.place(path, key=key)
        self.note(Problem(self.file, line, column, address(path), message))

    def note(self, problem: Problem) -> None:
        """Note something wrong at its place.

        Raises:
            ScenarioError: there are so many that looking on helps nobody.
        """
        self.problems.append(problem)
        if len(self.problems) >= MAX_PROBLEMS:
            raise ScenarioError(self.problems)


def resolve_path(data: object, path: Path_) -> Path_:
    """Keep the parts of a path that lead somewhere in the file.

    A short spelling has no key for what it means, and a word among other keys is no level of its
    own, so parts that are not found are left out.
    """
    kept: list[str | int] = []
    for part in path:
        found, inner = child(data, part)
        if found:
            kept.append(part)
            data = inner
    return tuple(kept)


def path_of(data: object, where: str) -> Path_:
    """Turn an address into a path; a name where the file has a list is left out."""
    path: list[str | int] = []
    for part in where.split("/") if where else []:
        if isinstance(data, list) and not part.isdecimal():
            continue
        here: str | int = int(part) - 1 if isinstance(data, list) and part.isdecimal() else part
        path.append(here)
        _, data = child(data, here)
    return tuple(path)


def child(data: object, part: str | int) -> tuple[bool, Any]:
    """Tell whether a part leads somewhere, and give what is there."""
    if isinstance(data, dict) and part in data:
        return True, data[part]
    if isinstance(data, list) and isinstance(part, int) and 0 <= part < len(data):
        return True, data[part]
    return False, None


def address(path: Path_) -> str:
    """Spell a path as an address: `options/bare/over/1/after`, indices from 1."""
    return "/".join(str(part + 1) if isinstance(part, int) else part for part in path)


def read_tree(path: str | Path) -> Tree:
    """Read a file.

    Raises:
        ScenarioError: it cannot be opened, is no UTF-8, too large, or no YAML at all.
    """
    return parse_tree(incoming.read_text(path, incoming.SCENARIO), str(path))


def parse_tree(text: str, file: str) -> Tree:
    """Read a text.

    Raises:
        ScenarioError: the text is no YAML; a syntax error hides all that follows it.
    """
    incoming.refuse_unwanted(text, file)
    tree = Tree(file, text)
    try:
        _Builder(tree, yaml.parse(text, Loader=_LOADER)).build()
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
        said = " ".join(filter(None, (error.context, error.problem)))
        message = f"this is not YAML: {said}"
        line, column, message = usual_slip(text, line) or (line, column, message)
        raise ScenarioError([*tree.problems, Problem(file, line, column, "", message)]) from error
    except yaml.reader.ReaderError as error:
        line, column = incoming.place_in(text, error.position)
        message = f"character {error.character!r} is not allowed"
        raise ScenarioError([Problem(file, line, column, "", message)]) from error
    except _TooMuch as error:
        raise ScenarioError([*tree.problems, error.problem]) from error
    if not isinstance(tree.data, dict):
        tree.problems.append(Problem(file, 1, 1, "", "keys with values are due, such as `title:`"))
        raise ScenarioError(tree.problems)
    return tree


_KEYED = re.compile(r"""[^:#{\[]*("[^"]*"|'[^']*')?[^:#{\[]*:(\s|$)""")


def usual_slip(text: str, line: int) -> tuple[int, int, str] | None:
    """Tell what most often breaks YAML near a line: a tab as indent, a colon that is missing.

    Parameters:
        text: of the file.
        line: where the reader of YAML gave up, from 1; the slip may stand in the line before.

    Returns: line, column and what to do; None where neither is found.
    """
    lines = text.splitlines()
    before = [n for n in range(line - 2, -1, -1) if _typed(lines[n])][:1]
    for place in [*before, line - 1]:
        typed = lines[place] if place < len(lines) else ""
        indent = typed[: len(typed) - len(typed.lstrip())]
        if "\t" in indent:
            column = indent.index("\t") + 1
            return place + 1, column, "a tab at the beginning: type blanks, two for each level"
        words = typed.strip()
        if _typed(typed) and words[:1] not in "-{}[],\"'|>&*" and not _KEYED.match(words):
            column = len(indent) + 1
            slip = _colon_slip(words)
            return place + 1, column, f"a colon and a blank are due after the key, {slip}"
    return None


def _typed(line: str) -> bool:
    return bool(line.strip()) and not line.strip().startswith("#")


def _colon_slip(words: str) -> str:
    """Show how a line without a colon was perhaps meant."""
    apart = min((mark for mark in ":{[" if mark in words), key=words.index, default=" ")
    key, mark, rest = words.partition(apart)
    value = f"{mark if mark in '{[' else ''}{rest.strip()}"
    return f"such as `{key.strip()}: {value}`" if rest else f"such as `{key}: ...`"


class _TooMuch(Exception):
    """A cap is passed; nothing more is read."""

    def __init__(self, problem: Problem) -> None:
        super().__init__(problem.message)
        self.problem = problem


class _Builder:
    """Turns the event stream into values, keeping places and refusing surprises."""

    def __init__(self, tree: Tree, events: Iterator[Any]) -> None:
        self._tree = tree
        self._events = events
        self._count = 0

    def build(self) -> None:
        """Read the one document of the stream."""
        documents = 0
        for event in self._events:
            if isinstance(event, yaml.DocumentStartEvent):
                documents += 1
                if documents > 1:
                    self._note(event, (), "a second document begins: one scenario a file")
                    return
            elif isinstance(event, yaml.NodeEvent):
                self._tree.data = self._value(event, ())

    def _note(self, event: Any, path: Path_, message: str) -> None:  # the stubs know no fields
        mark = event.start_mark
        self._tree.note(
            Problem(self._tree.file, mark.line + 1, mark.column + 1, address(path), message)
        )

    def _check_caps(self, event: Any, path: Path_) -> None:  # the stubs know no fields
        self._count += 1
        if len(path) <= MAX_DEPTH and self._count <= MAX_VALUES:
            return
        what = (
            f"deeper than {MAX_DEPTH} levels"
            if len(path) > MAX_DEPTH
            else (f"more than {MAX_VALUES:,} values")
        )
        mark = event.start_mark
        raise _TooMuch(
            Problem(self._tree.file, mark.line + 1, mark.column + 1, address(path[:4]), what)
        )

    def _value(self, event: Any, path: Path_) -> Any:  # the stubs know no fields
        """Read a value whose first event is at hand."""
        self._check_caps(event, path)
        mark = event.start_mark
        self._tree.values[path] = (mark.line + 1, mark.column + 1)
        if isinstance(event, yaml.AliasEvent):
            self._note(event, path, f"alias *{event.anchor}: write the value out")
            return ""
        if event.anchor is not None:
            self._note(event, path, f"anchor &{event.anchor}: write the value out where it is used")
        if event.tag is not None and event.tag != "!":
            self._note(event, path, f"tag {event.tag}: tags have no meaning here")
        if isinstance(event, yaml.MappingStartEvent):
            return self._mapping(path, bool(event.flow_style))
        if isinstance(event, yaml.SequenceStartEvent):
            return self._sequence(path)
        self._check_text(event.value, self._tree.values[path], path, MAX_TEXT)
        return event.value

    def _check_text(self, text: str, at: tuple[int, int], path: Path_, most: int) -> None:
        """Refuse a text that is too long, or that spells a control character by an escape."""
        found = incoming.unwanted(text)
        said = [incoming.unwanted_words(found[0])] if found is not None else []
        if len(text) > most:
            said.append(f"a text of {len(text):,} characters: at most {most:,}")
        for message in said:
            self._tree.note(Problem(self._tree.file, *at, address(path), message))

    def _sequence(self, path: Path_) -> list[Any]:
        found: list[Any] = []
        for event in self._events:
            if isinstance(event, yaml.SequenceEndEvent):
                break
            here = (*path, len(found))
            found.append(self._value(event, here))
            if _is_empty(event):
                self._note(event, here, "an empty entry in this list")
        return found

    def _mapping(self, path: Path_, flow: bool) -> dict[str, Any]:
        found: dict[str, Any] = {}
        split: list[tuple[Any, Path_, str]] = []
        before = ""
        for event in self._events:
            if isinstance(event, yaml.MappingEndEvent):
                break
            key = self._key(event, path)
            here = (*path, key)
            if key in found:
                line = self._tree.keys[here][0]
                self._note(event, here, f"given twice; first in line {line}")
                here = (*path, f"{key} (again)")
            self._tree.keys[here] = (event.start_mark.line + 1, event.start_mark.column + 1)
            value_event = next(self._events)
            found[str(here[-1])] = value = self._value(value_event, here)
            if _is_empty(value_event):
                split.append((event, here, before))
            before = value if isinstance(value, str) else ""
        self._missing(split, found, flow)
        return {key: value for key, value in found.items() if not key.endswith(" (again)")}

    def _key(self, event: Any, path: Path_) -> str:  # the stubs know no fields
        """Read a key, which must be a plain word."""
        at = (event.start_mark.line + 1, event.start_mark.column + 1)
        if not isinstance(event, yaml.ScalarEvent):
            self._note(event, path, "a key must be a word or a name")
            self._value(event, (*path, "?"))
            return "?"
        if event.value == "<<" and event.style in (None, ""):
            self._note(event, path, "merge key <<: use `all options` or write the values out")
        if event.anchor is not None:
            self._note(event, path, f"anchor &{event.anchor}: write the value out where it is used")
        self._check_text(event.value, at, path, incoming.MOST_KEY)
        return str(event.value)

    def _missing(
        self, split: list[tuple[Any, Path_, str]], found: dict[str, Any], flow: bool
    ) -> None:
        """Say of keys without a value what may have happened."""
        keys = list(found)
        for event, path, before in split:
            message = f"{path[-1]!r} has no value"
            if flow:
                key = str(path[-1])
                after = keys[keys.index(key) + 1 :]
                whole = ", ".join([before, key] if before else [key, *after[:1]])
                message += (
                    f"; is a colon and a blank missing in it? Or did a comma split this name? Then "
                    f'put it in quotes: "{whole}"'
                )
                if before[-1:].isdigit() and key[:1].isdigit():
                    message = f"{before},{key}: a number has a point, not a comma"
                del found[key]
            self._note(event, path, message)


def _is_empty(event: Any) -> bool:  # the stubs know no fields
    """Tell whether nothing was typed where a value is due."""
    return isinstance(event, yaml.ScalarEvent) and event.value == "" and event.style in (None, "")


def problems_of(tree: Tree) -> list[Problem]:
    """Give a tree's problems, each once."""
    return list(dict.fromkeys(tree.problems))
