"""Entries: what is written about a rope, and the chain of hashes that ties them together."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from typing import Any, NamedTuple

FIRST = "0" * 64
"""What the first entry of a file names as the hash of the entry before it."""

EVERY_ROPE = "*"
"""Name under which entries about the store itself stand, its own rules for one."""

Body = dict[str, Any]


class Draft(NamedTuple):
    """An entry before it is written."""

    rope: str
    kind: str
    on: str  # the day it happened, ISO
    by: str  # who says so
    body: Body


class Entry(NamedTuple):
    """An entry as it stands in the file."""

    number: int  # from 1, counted over all ropes
    rope: str
    kind: str
    on: str
    by: str
    written: str  # when it was entered, UTC, ISO
    body: Body
    before: str  # hash of the entry before it
    hash: str

    @property
    def draft(self) -> Draft:
        """The entry as it was handed in."""
        return Draft(self.rope, self.kind, self.on, self.by, self.body)


def canonical(body: Mapping[str, Any]) -> str:
    """Write a body the one way that is hashed: keys in order, no blanks.

    Raises:
        ValueError: it holds a number that JSON does not know.
    """
    return json.dumps(
        body, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
    )


def hash_of(number: int, draft: Draft, written: str, before: str) -> str:
    """Give the SHA-256 of an entry and of the hash before it, as 64 hex digits."""
    told = [number, *draft[:4], written, canonical(draft.body), before]
    text = json.dumps(told, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def own_hash(entry: Entry) -> str:
    """Say whether an entry was changed after it was written; empty: it was not."""
    found = hash_of(entry.number, entry.draft, entry.written, entry.before)
    return "" if found == entry.hash else f"entry {entry.number} was changed after it was written"
