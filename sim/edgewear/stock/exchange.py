"""The record as CSV or JSON, and back; a whole record keeps its hashes, a log gets new ones."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

from edgewear import incoming
from edgewear.errors import Problem, ScenarioError
from edgewear.stock.bodies import ALLOWED, NEEDED
from edgewear.stock.chain import broken_at
from edgewear.stock.entries import Draft, Entry
from edgewear.stock.store import Stock

SCHEMA = "edgewear.rope-record/1"
DRAFT = ("rope", "kind", "on", "by")
CHAIN = ("number", "written", "before", "hash")
FIELDS = tuple(dict.fromkeys(name for kind in NEEDED for name in (*NEEDED[kind], *ALLOWED[kind])))
COLUMNS = (*DRAFT, *FIELDS, *CHAIN)
TEXTS = {
    "like", "cut_from", "batch", "made", "first_use", "note", "job", "dataset", "option", "line",
    "finding", "what", "decision", "reason",
}  # fmt: skip
RISKY = ("=", "+", "-", "@", "\t", "\r", "'")
"""A cell that begins so may be taken for a formula by a spreadsheet; an apostrophe goes before."""


def as_json(entries: Iterable[Entry]) -> str:
    """Write entries as one JSON document, an entry a line."""
    lines = ",\n".join(
        json.dumps(entry._asdict(), ensure_ascii=False, allow_nan=False) for entry in entries
    )
    return f'{{"schema": "{SCHEMA}", "entries": [\n{lines}\n]}}\n'


def as_csv(entries: Iterable[Entry]) -> str:
    """Write entries as a table: a column a field, lists and numbers as JSON has them."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(COLUMNS)
    for entry in entries:
        flat = {**entry.body, **entry._asdict()}
        writer.writerow([_cell(name, flat.get(name)) for name in COLUMNS])
    return stream.getvalue()


def _cell(name: str, value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, str):
        return f"'{value}" if value.startswith(RISKY) else value
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))


class Typed:
    """Entries as a file has them: values, and the place of each."""

    def __init__(self, rows: Sequence[dict[str, Any]], places: Sequence[Problem]) -> None:
        """Take rows and their places."""
        self.rows, self.places = rows, places

    @property
    def whole(self) -> bool:
        """Tell whether every entry has its number and its hash, as exports do."""
        return bool(self.rows) and all(set(CHAIN) <= row.keys() for row in self.rows)

    def drafts(self) -> list[Draft]:
        """Give the entries without what an earlier record added."""
        return [
            Draft._make([*(row.get(name, "") for name in DRAFT), row["body"]]) for row in self.rows
        ]

    def entries(self) -> list[Entry]:
        """Give the entries with the hashes they had."""
        return [Entry(**{name: row[name] for name in Entry._fields}) for row in self.rows]


def read(path: Path) -> Typed:
    """Read an export or a paper log typed into a table.

    Raises:
        ScenarioError: it cannot be read, or is neither, with every problem found at its place.
    """
    text = incoming.read_text(path, incoming.LOG)
    if path.suffix.lower() == ".json":
        return _from_json(str(path), text)
    return _from_csv(str(path), text)


def _from_json(file: str, text: str) -> Typed:
    try:
        document = json.loads(text, parse_constant=_no_number)
    except (ValueError, RecursionError) as error:
        line, column = getattr(error, "lineno", 1), getattr(error, "colno", 1)
        raise ScenarioError([Problem(file, line, column, "", f"no JSON: {error}")]) from error
    found = document.get("entries") if isinstance(document, dict) else None
    if not isinstance(found, list) or document.get("schema") != SCHEMA:
        message = f"`schema` {SCHEMA!r} and a list of `entries` are due"
        raise ScenarioError([Problem(file, 1, 1, "", message)])
    places = [
        Problem(file, *incoming.place_in(text, at), f"entries/{number}", "")
        for number, at in enumerate(_entry_starts(text), 1)
    ]
    wrong = [
        place._replace(message=f"an entry with {', '.join(DRAFT)} and body is due")
        for row, place in zip(found, places, strict=True)
        if not isinstance(row, dict) or not isinstance(row.get("body"), dict)
    ]
    wrong += [
        place._replace(message=incoming.unwanted_words(odd[0]))
        for row, place in zip(found, places, strict=True)
        if (odd := _unwanted_in(row))
    ]
    if wrong:
        raise ScenarioError(wrong)
    return Typed(found, places)


def _unwanted_in(found: object) -> re.Match[str] | None:
    """Find a character that no text of a file may have, also one spelt by an escape."""
    if isinstance(found, str):
        return incoming.unwanted(found)
    inner = [*found.keys(), *found.values()] if isinstance(found, dict) else found
    if not isinstance(inner, list):
        return None
    return next((odd for one in inner if (odd := _unwanted_in(one))), None)


_BLANKS = re.compile(r"[ \t\r\n]*")


def _entry_starts(text: str) -> list[int]:
    """Give where each entry of a JSON document begins; the document has been read as JSON."""
    found: list[int] = []
    read = json.JSONDecoder().raw_decode
    at = _past(text, _past(text, 0) + 1)
    while text[at] != "}":
        key, at = read(text, at)
        at = _past(text, _past(text, at) + 1)  # over the colon
        if key == "entries" and text[at] == "[":
            found, at = _item_starts(text, at)
        else:
            _, at = read(text, at)
        at = _past(text, at)
        if text[at] == ",":
            at = _past(text, at + 1)
    return found


def _item_starts(text: str, at: int) -> tuple[list[int], int]:
    """Give where the items of a list begin, and where the list ends."""
    found = []
    read = json.JSONDecoder().raw_decode
    at = _past(text, at + 1)
    while text[at] != "]":
        found.append(at)
        _, at = read(text, at)
        at = _past(text, at)
        if text[at] == ",":
            at = _past(text, at + 1)
    return found, at + 1


def _past(text: str, at: int) -> int:
    """Give where the blanks from a place on end."""
    blanks = _BLANKS.match(text, at)
    return at if blanks is None else blanks.end()


def _no_number(name: str) -> float:
    raise ValueError(f"{name} is no number")


def _from_csv(file: str, text: str) -> Typed:
    incoming.refuse_other_separators(text, file)
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    wrong: list[Problem] = []
    rows, places = [], []
    try:
        heads = next(reader, [])
        wrong += _heads(file, heads)
        for cells in reader:
            if any(cells) and not wrong:
                place = Problem(file, reader.line_num, 1, f"line {reader.line_num}", "")
                rows.append(_row(heads, cells, place, wrong))
                places.append(place)
    except csv.Error as error:
        wrong.append(Problem(file, reader.line_num, 1, "", f"no table: {error}"))
    if wrong:
        raise ScenarioError(wrong)
    return Typed(rows, places)


def _heads(file: str, heads: Sequence[str]) -> Iterator[Problem]:
    for column, head in enumerate(heads, 1):
        if head not in COLUMNS or head in heads[: column - 1]:
            message = f"column {head!r}: allowed, once each, are {', '.join(COLUMNS)}"
            yield Problem(file, 1, column, "", message)
    for head in DRAFT:
        if head not in heads:
            yield Problem(file, 1, 1, "", f"column {head!r} is missing")


def _row(
    heads: Sequence[str], cells: Sequence[str], place: Problem, wrong: list[Problem]
) -> dict[str, Any]:
    row: dict[str, Any] = {"body": {}}
    if len(cells) != len(heads):
        wrong.append(place._replace(message=f"{len(cells)} cells under {len(heads)} columns"))
    for column, (head, cell) in enumerate(zip(heads, cells, strict=False), 1):
        if cell == "":
            continue
        value, message = _value(head, cell)
        if message:
            wrong.append(place._replace(column=column, address=head, message=message))
        (row if head in DRAFT or head in CHAIN else row["body"])[head] = value
    return row


def _value(head: str, cell: str) -> tuple[Any, str]:
    if head in TEXTS or head in DRAFT or head in CHAIN[1:]:
        return (cell[1:] if cell[0] == "'" and cell[1:].startswith(RISKY) else cell), ""
    try:
        return json.loads(cell, parse_constant=_no_number), ""
    except ValueError:
        return cell, f"{cell!r}: a number, yes or no as true or false, or a list is due"


def take_in(stock: Stock, typed: Typed) -> list[Entry]:
    """Enter what a file has: a whole record into an empty one as it was, else as new entries.

    Raises:
        ScenarioError: some entries cannot be entered; then none is.
    """
    if not typed.rows:
        return []
    if typed.whole and stock.head()[0] == 0:
        return _restored(stock, typed)
    return stock.append_all(typed.drafts(), typed.places)


def _restored(stock: Stock, typed: Typed) -> list[Entry]:
    from edgewear.stock.bodies import problems

    drafts = typed.drafts()
    wrong = [
        place._replace(address=f"{place.address}/{field}", message=message)
        for draft, place in zip(drafts, typed.places, strict=True)
        for field, message in problems(draft)
    ]
    wrong += [
        place._replace(address=f"{place.address}/{name}", message=f"{row[name]!r} is none")
        for row, place in zip(typed.rows, typed.places, strict=True)
        for name in CHAIN
        if type(row[name]) is not (int if name == "number" else str)
    ]
    if not wrong:
        wrong = [
            typed.places[index]._replace(address="", message=message)
            for index, message in broken_at(typed.entries())
        ]
    if wrong:
        raise ScenarioError(wrong)
    entries = typed.entries()
    stock.restore(entries)
    return entries
