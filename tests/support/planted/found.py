"""What a `faults` document holds against a procedure: nothing for one that is sound."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

ERROR, NO, NOT_KNOWN, ABOVE, SHARED = "error", "NO", "not known", "above a limit", "shared"
NO_RESCUE, FALLS, LATE, LOST = "no rescue shown", "falls", "late", "lost line"


class Trouble(NamedTuple):
    """One thing that is held against a procedure."""

    kind: str
    where: str  # who or what
    words: str


def troubles(document: dict[str, Any]) -> set[Trouble]:
    """Everything that a document holds against its procedure."""
    found = {*_single(document), *_fates(document), *_rescues(document)}
    found |= {Trouble(SHARED, "status", word) for word in document["status"]}
    found |= {_between(one) for one in document["between"]}
    return found


def _between(one: dict[str, Any]) -> Trouble:
    """What lines of two people share."""
    piece = one["protection"] or ""
    return Trouble(SHARED, " and ".join(one["lines"]), f"{one['kind']}: {one['where']} {piece}")


def _single(document: dict[str, Any]) -> Iterator[Trouble]:
    for row in document["single_failures"]:
        where = f"{row['component']}, {row['person']}"
        if row["holds"] is not True:
            yield Trouble(NO if row["holds"] is False else NOT_KNOWN, where, row["why"])
        if not row["independent"]:
            yield Trouble(SHARED, where, row["why"])
        for words in row["beyond"]:
            yield Trouble(ABOVE, where, words)


def _fates(document: dict[str, Any]) -> Iterator[Trouble]:
    for one in document["fates"]:
        for fate in one["people"]:
            where = f"{fate['person']}: {' and '.join(one['names'])}"
            if fate["still"] is not None and fate["still"]["keeps"] is False:
                yield Trouble(LATE, where, "suspension: until they could go on")
            if fate["end"] == "goes on as planned" and fate["catch_holds"] is not False:
                yield from (Trouble(LOST, where, line) for line in fate["showing"])
            if fate["end"].startswith("falls"):
                yield Trouble(FALLS, where, fate["holds"])
            elif "hanging" in fate["end"] and fate["rescue"] is None:
                yield Trouble(NO_RESCUE, where, "; ".join(fate["missing"]))
            elif fate["rescue"] is not None:
                yield from _late(where, fate["rescue"])


def _late(where: str, rescue: dict[str, Any]) -> Iterator[Trouble]:
    for stage, reached in rescue["times"].items():
        if reached["keeps"] is False:
            yield Trouble(LATE, where, stage)


def _rescues(document: dict[str, Any]) -> Iterator[Trouble]:
    """Places of work from which no way of rescue is shown, or none in time."""
    for place in document["rescues"]:
        where = f"{place['person']}, step {place['step']}"
        ways = place["ways"]
        if not any(way["possible"] for way in ways):
            yield Trouble(NO_RESCUE, where, "; ".join(way["why"] for way in ways))
        elif ways[0]["possible"]:
            yield from _late(where, ways[0])
