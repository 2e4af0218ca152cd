"""Ropes with entries, for tests of the record."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from edgewear.scenario.read.rope_rules import built_in_rules
from edgewear.stock.entries import FIRST, Draft, Entry, hash_of
from edgewear.stock.rules import Rules
from edgewear.stock.store import Stock, open_stock

BODIES: dict[str, dict[str, Any]] = {
    "register": {"length_m": 60.0},
    "job": {"job": "gutter", "first_mm": 10_000, "demand": [0.05, 0.1, 0.05],
            "low": 0.5, "middle": 1.0, "high": 2.0},
    "inspection": {"finding": "nothing", "from_m": 0.0, "to_m": 60.0},
    "event": {"what": "other"},
    "decision": {"decision": "set aside", "reason": "to be looked at"},
}  # fmt: skip


def draft(kind: str, rope: str = "R1", on: str = "2026-03-01", **fields: Any) -> Draft:
    """An entry of a kind, some of its fields others than usual."""
    return Draft(rope, kind, on, "A. Keeper", {**BODIES.get(kind, {}), **fields})


@contextmanager
def stock_in(folder: Path, rules: Rules | None = None, *drafts: Draft) -> Iterator[Stock]:
    """A record in a folder, with one rope where nothing else is said."""
    path = folder / "store.ropes"
    new = not path.exists()
    with open_stock(path, built_in_rules() if rules is None else rules, make=True) as stock:
        if new:
            stock.append_all(drafts or [draft("register")])
        yield stock


def chained(drafts: list[Draft]) -> list[Entry]:
    """Entries as a file would have them."""
    entries: list[Entry] = []
    before = FIRST
    for number, one in enumerate(drafts, 1):
        hash_ = hash_of(number, one, "2026-03-01T00:00:00+00:00", before)
        written = "2026-03-01T00:00:00+00:00"
        entries.append(Entry(number, *one[:4], written, one.body, before, hash_))
        before = hash_
    return entries


def write_for_ever(path: str, rope: str, most: int) -> None:
    """Enter one entry after the other, each in a transaction; say each number once confirmed."""
    with open_stock(path, built_in_rules()) as stock:
        for _ in range(most):
            entry = stock.append(draft("event", rope))
            sys.stdout.write(json.dumps([entry.number, entry.hash]) + "\n")
            sys.stdout.flush()


if __name__ == "__main__":
    write_for_ever(sys.argv[1], sys.argv[2], int(sys.argv[3]))
