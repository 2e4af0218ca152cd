"""Findings as JSON: the one place where a typed finding becomes plain."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from math import isfinite
from typing import Any, Protocol

APART: dict[str, str | None] = {"key": None}
"""Metadata of a field that is for decisions and words, and stands in no document.

A field whose key in documents is no name of Python's says so by its own `{"key": ...}`.
"""


def plain(found: object) -> Any:  # JSON of any shape
    """Make something JSON-able: classes and tuples become dicts and lists, no end becomes null."""
    if hasattr(found, "as_json"):
        return found.as_json()
    if is_dataclass(found):
        shown = [f for f in fields(found) if f.metadata.get("key", f.name)]
        return {f.metadata.get("key", f.name): plain(getattr(found, f.name)) for f in shown}
    if isinstance(found, Mapping):
        return {str(key): plain(value) for key, value in found.items()}
    if isinstance(found, list | tuple):
        return [plain(value) for value in found]
    if isinstance(found, float) and not isfinite(found):
        return None
    if isinstance(found, Enum):
        return found.value
    return plain(found.item()) if hasattr(found, "item") else found


class Worded(Protocol):
    """A finding that documents hold in its own words."""

    @property
    def words(self) -> str:
        """The finding in words."""

    def as_json(self) -> str:
        """The finding as documents have it."""
        return self.words
