"""Every number of the shipped library that may be off, with what stands behind it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from edgewear.scenario.read.libraries import built_in, stamped
from edgewear.validation.undetermined import OF_AN_EDGE, OF_PROTECTION, OF_THE_LAW

ASSUMED = "assumed"
"""Basis of what is assumed or from memory; anything else has a source."""


class Number(NamedTuple):
    """One number of the library, as typed there."""

    section: str
    address: str  # words below the section, joined by /
    value: str
    low: str
    high: str
    basis: str  # assumed: nobody measured it; library: a source is named
    pedigree: str
    test: str  # that would tell; empty: none is named


def numbers() -> Iterator[Number]:
    """Give every number that has a pedigree, in the order of the library."""
    for section, words in built_in().items():
        for address, entry in _entries(stamped(dict(words), "")):
            yield Number(
                section=section,
                address="/".join(address),
                value=str(entry["value"]),
                low=str(entry.get("low", entry["value"])),
                high=str(entry.get("high", entry["value"])),
                basis=str(entry["basis"]),
                pedigree=str(entry.get("pedigree", "")),
                test=_test(section, address),
            )


def _entries(
    found: object, address: tuple[str, ...] = ()
) -> Iterator[tuple[tuple[str, ...], Mapping[str, object]]]:
    """Find the entries with a value, at any depth."""
    if not isinstance(found, Mapping):
        return
    if "value" in found:
        yield address, found
        return
    for key, below in found.items():
        yield from _entries(below, (*address, str(key)))


def _test(section: str, address: tuple[str, ...]) -> str:
    """Name the test that would tell a number, where one is known."""
    named = {
        "wear": OF_THE_LAW.get(address[-1].replace(" ", "_"), ""),
        "weather": OF_AN_EDGE.get(address[0], ""),
        "protection": OF_PROTECTION.get(address[-1], ""),
    }
    return named.get(section, "")
