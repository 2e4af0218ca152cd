"""What a resolved scenario holds that somebody may doubt: its quantities and their pedigrees."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any


def parameters_of(resolved: Mapping[str, Any]) -> tuple[dict[str, Any], ...]:
    """Pick the quantities that carry an uncertainty or an assumption, with their pedigree.

    Returns:
        One entry an address.
    """
    return tuple(
        {
            "address": address,
            **{key: found[key] for key in ("typed", "value", "low", "high", "unit")},
            "pedigree": found["pedigree"] or found["basis"],
        }
        for address, found in _quantities("", resolved)
        if found["basis"] != "given"
    )


UNTYPED = ("techniques", "systems", "protections", "edge_classes", "times", "weather")
"""Sections that come from the library whole, whether used or not."""


def _quantities(address: str, found: object) -> list[tuple[str, Mapping[str, Any]]]:
    if isinstance(found, Mapping):
        if {"value", "typed", "basis", "pedigree"} <= set(found):
            return [(address, found)]
        inner = [(str(key), value) for key, value in found.items()]
        inner = [pair for pair in inner if address or pair[0] not in UNTYPED]
    elif isinstance(found, list):
        inner = [(str(index), value) for index, value in enumerate(found, 1)]
    else:
        return []
    return [q for key, value in inner for q in _quantities(f"{address}/{key}".lstrip("/"), value)]
