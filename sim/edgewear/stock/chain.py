"""Whether the file is as it was written: the chain of hashes, and what is derived from it."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from edgewear.errors import DatasetError
from edgewear.stock.connection import told
from edgewear.stock.entries import FIRST, Entry, own_hash
from edgewear.stock.reckoned.pieces import reckoned
from edgewear.stock.rules import Rules
from edgewear.stock.standing import summary
from edgewear.stock.store import Stock


def broken(entries: Iterable[Entry]) -> Iterator[str]:
    """Say where a chain of entries does not hold, from the first entry on."""
    return (message for _, message in broken_at(entries))


def broken_at(entries: Iterable[Entry]) -> Iterator[tuple[int, str]]:
    """Say where a chain of entries does not hold, each time with the index of the entry."""
    number, before = 0, FIRST
    for index, entry in enumerate(entries):
        number += 1
        if entry.number != number:
            yield index, f"entry {number} is missing; {entry.number} follows"
            number = entry.number
        if entry.before != before:
            yield index, f"entry {entry.number} does not follow from the entry before it"
        if wrong := own_hash(entry):
            yield index, wrong
        before = entry.hash


def verify(stock: Stock, head: str | None = None) -> list[str]:
    """List everything that is wrong with a record; empty when nothing is.

    Parameters:
        stock: the record.
        head: hash of an entry noted earlier, or its first digits, which must be there still.
    """
    try:
        wrong, hashes = _file(stock), [entry.hash for entry in stock.every_entry()]
        if head is not None and not any(one.startswith(head) for one in hashes):
            wrong.append(f"no entry has the hash {head}: entries noted earlier are gone")
        wrong += broken(stock.every_entry())
        return wrong or list(_derived(stock))
    except DatasetError as error:
        return [str(error)]


def _file(stock: Stock) -> list[str]:
    """Say what SQLite itself finds wrong."""
    with told(stock.path):
        (said,) = stock.connection.execute("PRAGMA integrity_check(1)").fetchone()
        keys = stock.connection.execute("PRAGMA foreign_key_check").fetchall()
    wrong = [] if said == "ok" else [f"the file is damaged: {said}"]
    return wrong + ["a rope's first entry is missing"] * bool(keys)


def _derived(stock: Stock) -> Iterator[str]:
    """Say where a list would show something else than the entries come to."""
    rules = stock.rules()
    own: dict[str, list[Entry]] = {}
    for entry in stock.every_entry():
        own.setdefault(entry.rope, []).append(entry)
    kept: dict[str, Any] = {one["rope"]: one for one in stock.summaries()}
    own.pop("*", None)
    for rope, entries in own.items():
        if entries[0].kind != "register":
            yield f"{rope}: its first entry does not register it"
        elif _plain(_listed(entries, rules, own)) != kept.pop(rope, None):
            yield f"{rope}: what lists say of it does not follow from its entries"
    yield from (f"{rope}: is in lists without an entry" for rope in kept)


def _listed(entries: list[Entry], rules: Rules, own: Mapping[str, list[Entry]]) -> dict[str, Any]:
    return summary(reckoned(entries, rules, lambda rope: own.get(rope, [])))


def _plain(found: dict[str, Any]) -> Any:  # JSON of any shape
    return json.loads(json.dumps(found))
