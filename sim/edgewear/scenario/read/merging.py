"""Merging what all options share, what a person's lines share and what one option says.

The nearest word wins: an option over `lines`, `lines` over `all options`. Protection and bypass
slings are merged edge by edge, and `none` takes one away; lists are replaced as a whole.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from edgewear.scenario.models.places import LINE_KEYS
from edgewear.scenario.text.tree import Path_

EDGE_BY_EDGE = ("protect", "bypass")
"""What is merged edge by edge."""


class Said(NamedTuple):
    """Something said of a line, and where."""

    path: Path_
    found: object


class Merged:
    """Keys with the value that counts and the place where it was typed."""

    def __init__(self) -> None:
        """Begin with nothing said."""
        self.values: dict[str, Any] = {}
        self._origins: dict[tuple[str | int, ...], Path_] = {}

    def add(self, said: Said, keys: tuple[str, ...]) -> None:
        """Let something later win over what was said before."""
        if not isinstance(said.found, dict):
            return
        for key in keys:
            if key in said.found:
                self._take(key, said.found[key], (*said.path, key))

    def _take(self, key: str, value: object, path: Path_) -> None:
        if key in EDGE_BY_EDGE and isinstance(value, dict):
            kept = self.values.get(key)
            merged = dict(kept) if isinstance(kept, dict) else {}
            for edge, found in value.items():
                merged[edge] = found
                self._origins[key, edge] = (*path, edge)
            value = {edge: found for edge, found in merged.items() if found != "none"}
        self.values[key] = value
        self._origins[(key,)] = path

    def place(self, loc: tuple[str | int, ...]) -> Path_ | None:
        """Give the path where a part was typed; None when nobody typed it."""
        for length in (2, 1):
            origin = self._origins.get(loc[:length])
            if origin is not None:
                return (*origin, *loc[length:])
        return None


def merge_lines(chain: list[Said]) -> tuple[Merged, Merged]:
    """Merge a person's working line and safety line.

    Parameters:
        chain: what is said, from the most general to the nearest.

    Returns:
        The working line's keys and the safety line's keys; a safety line nobody speaks of has none.
    """
    working, safety = Merged(), Merged()
    for said in chain:
        working.add(said, LINE_KEYS)
        if isinstance(said.found, dict) and "safety line" in said.found:
            own = Said((*said.path, "safety line"), said.found["safety line"])
            if own.found == "none":
                safety = Merged()
            safety.add(own, LINE_KEYS)
    return working, safety
