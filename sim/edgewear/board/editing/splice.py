"""Changing a few values in the text of a file, and nothing else of it.

The text is cut at the places that YAML's own reader gives, so that comments, order, blanks and
line ends elsewhere stay as they are.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, NamedTuple

import yaml

from edgewear.errors import EdgewearError, UsageError
from edgewear.scenario.text.tree import parse_tree

_LOADER = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
_WIDE = 96
"""Columns up to which a new value stands on one line."""

MOST_STEPS = 500
"""Places that one change may touch."""

Value = Any
"""Any part of a file, as typed: a text, a mapping or a list."""


class Cut(NamedTuple):
    """A stretch of the text and what takes its place."""

    start: int
    end: int
    text: str


def spliced(text: str, wanted: Mapping[str, Value]) -> str:
    """Give the text with as few places changed as make it say what is wanted.

    Parameters:
        text: of a file that reads as a mapping.
        wanted: the values it is to have, all texts, mappings and lists.

    Raises:
        UsageError: the file is written in a way that cannot be changed place by place.
    """
    for _ in range(MOST_STEPS):
        whole = _Text(text)
        cut = next(whole.cuts(whole.root, wanted), None)
        if cut is None:
            return _held(text, wanted)
        changed = text[: cut.start] + cut.text + text[cut.end :]
        if changed == text:
            break
        text = changed
    raise UsageError("this place of the file cannot be changed here: change it in an editor")


def _held(text: str, wanted: Mapping[str, Value]) -> str:
    """Make sure that a changed text reads as it should."""
    try:
        tree = parse_tree(text, "file")
    except EdgewearError as error:
        raise UsageError(f"the file cannot be changed here: {error}") from error
    if tree.data != wanted:
        raise UsageError("this place of the file cannot be changed here: change it in an editor")
    return text


class _Text:
    """A text with its nodes, and where each begins and ends in it."""

    def __init__(self, text: str) -> None:
        self.text = text
        self._lines = _line_starts(text)
        try:
            root = yaml.compose(text, Loader=_LOADER)
        except yaml.YAMLError as error:
            raise UsageError("the file is no YAML: mend it in an editor first") from error
        if root is None:
            raise UsageError("the file says nothing: write it in an editor first")
        self.root: yaml.Node = root

    def start(self, node: yaml.Node) -> int:
        return int(self._lines[node.start_mark.line] + node.start_mark.column)

    def end(self, node: yaml.Node) -> int:
        """Give the end of what a node says, without comments and blanks after it."""
        if isinstance(node, yaml.ScalarNode) or _in_flow(node):
            stop = self._lines[node.end_mark.line] + node.end_mark.column
            return len(self.text[:stop].rstrip()) if _is_block_text(node) else stop
        inner = node.value[-1]
        return self.end(inner[1] if isinstance(inner, tuple) else inner)

    def line_end(self, place: int) -> int:
        found = self.text.find("\n", place)
        return len(self.text) if found < 0 else found

    def line_start(self, place: int) -> int:
        return self.text.rfind("\n", 0, place) + 1

    def cuts(self, node: yaml.Node, wanted: Value, flow: bool = False) -> Iterator[Cut]:
        """Give what is to be changed first, in any order."""
        if _plain(node) == wanted:
            return
        inside = flow or _in_flow(node)
        if isinstance(node, yaml.MappingNode) and isinstance(wanted, Mapping) and wanted:
            yield from self._mapping(node, wanted, inside)
        elif isinstance(node, yaml.SequenceNode) and isinstance(wanted, list) and wanted:
            yield from self._sequence(node, wanted, inside)
        else:  # a word stands where the braces stood, not in them
            yield self._replaced(node, wanted, flow if isinstance(wanted, str) else inside)

    def _replaced(self, node: yaml.Node, wanted: Value, flow: bool) -> Cut:
        start, end = self.start(node), self.end(node)
        if start == end:  # nothing was typed there
            return Cut(start, end, " " + written(wanted, flow))
        return Cut(start, end, written(wanted, flow))

    def _mapping(self, node: yaml.Node, wanted: Mapping[str, Value], flow: bool) -> Iterator[Cut]:
        old = {key.value: (key, value) for key, value in node.value}
        gone = [key for key in old if key not in wanted]
        new = [key for key in wanted if key not in old]
        if len(gone) == len(old) or (not old):
            yield self._replaced(node, wanted, flow)
            return
        if len(gone) == len(new) == 1 and _plain(old[gone[0]][1]) == wanted[new[0]]:
            yield self._renamed(old[gone[0]][0], new[0], flow)
            return
        for key in old:
            if key in wanted:
                yield from self.cuts(old[key][1], wanted[key], flow)
        for key in gone:
            yield self._removed(node, key, flow)
        for key in new:
            yield self._added(node, list(wanted), key, wanted[key], flow)

    def _renamed(self, key: yaml.Node, name: str, flow: bool) -> Cut:
        return Cut(self.start(key), self.end(key), scalar(name, flow, key=True))

    def _removed(self, node: yaml.Node, name: str, flow: bool) -> Cut:
        at = [key.value for key, _ in node.value].index(name)
        key, value = node.value[at]
        start, end = self.start(key), self.end(value)
        if flow:
            return self._out_of_flow([(self.start(k), self.end(v)) for k, v in node.value], at)
        line = self.line_start(start)
        if self.text[line:start].strip():  # the first key of an entry of a list: `- key: value`
            return Cut(start, self.start(node.value[at + 1][0]), "")
        return Cut(line, min(self.line_end(end) + 1, len(self.text)), "")

    def _out_of_flow(self, spans: Sequence[tuple[int, int]], at: int) -> Cut:
        if at + 1 < len(spans):
            return Cut(spans[at][0], spans[at + 1][0], "")
        return Cut(spans[at - 1][1], spans[at][1], "")

    def _added(self, node: yaml.Node, order: list[str], name: str, value: Value, flow: bool) -> Cut:
        old = [key.value for key, _ in node.value]
        before = [key for key in order[: order.index(name)] if key in old]
        key, said = node.value[old.index(before[-1]) if before else 0]
        if flow:
            entry = f"{scalar(name, True, key=True)}: {written(value, True)}"
            place = self.end(said) if before else self.start(key)
            return Cut(place, place, f", {entry}" if before else f"{entry}, ")
        column = key.start_mark.column
        entry = block_entry(name, value, column)
        if not before:
            place = self.start(key)
            return Cut(place, place, f"{entry}\n{' ' * column}")
        place = self.line_end(self.end(said))
        return Cut(place, place, f"\n{' ' * column}{entry}")

    def _sequence(self, node: yaml.Node, wanted: list[Value], flow: bool) -> Iterator[Cut]:
        old = [_plain(item) for item in node.value]
        if not old:
            yield self._replaced(node, wanted, flow)
            return
        same = 0
        while same < min(len(old), len(wanted)) and old[same] == wanted[same]:
            same += 1
        if len(old) == len(wanted):
            yield from self.cuts(node.value[same], wanted[same], flow)
        elif len(old) > len(wanted):
            yield self._item_removed(node, same, flow)
        else:
            yield self._item_added(node, same, wanted[same], flow)

    def _item_removed(self, node: yaml.Node, at: int, flow: bool) -> Cut:
        spans = [(self.start(item), self.end(item)) for item in node.value]
        if flow:
            return self._out_of_flow(spans, at)
        line = self.line_start(self._dash(spans[at][0]))
        return Cut(line, min(self.line_end(spans[at][1]) + 1, len(self.text)), "")

    def _item_added(self, node: yaml.Node, at: int, value: Value, flow: bool) -> Cut:
        spans = [(self.start(item), self.end(item)) for item in node.value]
        if flow:
            place = spans[at - 1][1] if at else spans[0][0]
            entry = written(value, True)
            return Cut(place, place, f", {entry}" if at else f"{entry}, ")
        indent = " " * node.start_mark.column
        if not at:
            place = self._dash(spans[0][0])
            return Cut(place, place, f"- {written(value, False)}\n{indent}")
        place = self.line_end(spans[at - 1][1])
        return Cut(place, place, f"\n{indent}- {written(value, False)}")

    def _dash(self, start: int) -> int:
        return self.text.rfind("-", 0, start)


def _line_starts(text: str) -> list[int]:
    """Give where each line begins, as YAML counts lines."""
    starts, place = [0], 0
    while place < len(text):
        here = text[place]
        place += 2 if text[place : place + 2] == "\r\n" else 1
        if here in "\n\r\x85\u2028\u2029":
            starts.append(place)
    return starts


def _in_flow(node: yaml.Node) -> bool:
    return bool(getattr(node, "flow_style", False))


def _is_block_text(node: yaml.Node) -> bool:
    return isinstance(node, yaml.ScalarNode) and node.style in ("|", ">")


def _plain(node: yaml.Node) -> Value:
    if isinstance(node, yaml.MappingNode):
        return {key.value: _plain(value) for key, value in node.value}
    if isinstance(node, yaml.SequenceNode):
        return [_plain(value) for value in node.value]
    return node.value


def written(value: Value, flow: bool) -> str:
    """Give a value on one line, as one types it.

    Parameters:
        value: text, mapping or list.
        flow: whether it stands inside braces or brackets.
    """
    if isinstance(value, Mapping):
        pairs = (f"{scalar(k, True, key=True)}: {written(v, True)}" for k, v in value.items())
        return "{" + ", ".join(pairs) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(written(one, True) for one in value) + "]"
    return scalar(str(value), flow)


def block_entry(name: str, value: Value, column: int) -> str:
    """Give a key with its value: on one line where it fits, else a key of it a line."""
    key = scalar(name, False, key=True)
    line = f"{key}: {written(value, False)}"
    if column + len(line) <= _WIDE or not isinstance(value, Mapping):
        return line
    inner = "\n".join(" " * (column + 2) + block_entry(k, v, column + 2) for k, v in value.items())
    return f"{key}:\n{inner}"


def scalar(text: str, flow: bool, key: bool = False) -> str:
    """Spell a text so that it is read as it is, in quotes only where it must be.

    Parameters:
        text: any.
        flow: whether it stands inside braces or brackets.
        key: whether it is a key.
    """
    pair = f"{text}: x" if key else f"k: {text}"
    meant = {text: "x"} if key else {"k": text}
    sample = f"{{{pair}}}" if flow else pair
    if text and text == text.strip() and "\n" not in text and _reads(sample, meant):
        return text
    quoted = text.replace("\\", "\\\\").replace('"', '\\"')
    inner = "".join(one if one.isprintable() else _escaped(one) for one in quoted)
    return f'"{inner}"'


def _escaped(one: str) -> str:
    code = ord(one)
    return f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"


def _reads(sample: str, meant: Mapping[str, str]) -> bool:
    try:
        node = yaml.compose(sample, Loader=_LOADER)
    except yaml.YAMLError:
        return False
    if not isinstance(node, yaml.MappingNode):
        return False
    plain = all(
        isinstance(part, yaml.ScalarNode) and part.tag == "tag:yaml.org,2002:str"
        for pair in node.value
        for part in pair
    )
    return plain and "&" not in sample[:1] and _plain(node) == meant
