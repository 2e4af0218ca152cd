"""Names under which numbers vary that a file spells elsewhere, and the paths they stand for.

A bend is one uncertainty in all options (`over/climber/working line/arris/bend`), and so is a
piece of protection (`protection/coping/pad/friction`); in a file each option has a place of its
own for them. So that every column of a plan is an address, these names lead to all those places.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from edgewear.scenario.models.base import spelled
from edgewear.scenario.text.tree import Path_
from edgewear.scenario.working import WAYS

Data = Mapping[str, Any]
Reader = Callable[[Data, Path_], Any]
"""Gives the value at a path; an option falls back on what all options share."""

ANY = "*"


def aliased(data: Data, parts: list[str], value_at: Reader) -> list[Path_]:
    """Find the paths that a name stands for; none where it is no such name.

    Parameters:
        data: the file's text values.
        parts: of the name.
        value_at: reads a value.
    """
    known: dict[tuple[str, int], Callable[[Data, list[str], Reader], Iterator[Path_]]] = {
        ("over", 5): _over,
        ("protection", 4): _protection,
        ("job", 4): _work,
        ("people", 3): _machine,
    }
    find = known.get((parts[0], len(parts)))
    return [] if find is None else list(find(data, parts, value_at))


def _matches(wanted: str, found: object) -> bool:
    return wanted in (ANY, found)


def _lines(data: Data, person: str = ANY, role: str = ANY) -> Iterator[Path_]:
    """Paths of every option's lines that a person and a role stand for."""
    people = list(_mapping(data.get("people"))) or ["machine"]
    for option in _mapping(data.get("options")):
        for name in people:
            if not _matches(person, name):
                continue
            own: Path_ = ("lines", name) if len(people) > 1 else ()
            for word, inner in (("working line", ()), ("safety line", ("safety line",))):
                if _matches(role, word):
                    yield ("options", option, *own, *inner)


def _over(data: Data, parts: list[str], value_at: Reader) -> Iterator[Path_]:
    """`over/person/role/edge/word`: wherever a line's path is given directly."""
    _, person, role, edge, word = parts
    for line in _lines(data, person, role):
        passed = value_at(data, (*line, "over"))
        for index, one in enumerate(passed if isinstance(passed, list) else ()):
            if isinstance(one, Mapping) and _matches(edge, one.get("edge")):
                yield (*line, "over", index, word)


def _protection(data: Data, parts: list[str], value_at: Reader) -> Iterator[Path_]:
    """`protection/edge/kind/word`: every piece of a kind on an edge."""
    _, edge, kind, word = parts
    for line in _lines(data):
        for name, piece in _mapping(value_at(data, (*line, "protect"))).items():
            found = piece.get("is") if isinstance(piece, Mapping) else piece
            if _matches(edge, name) and _matches(kind, found):
                yield (*line, "protect", name, word)


def _work(data: Data, parts: list[str], value_at: Reader) -> Iterator[Path_]:
    """`job/person/number/word`: a number of the one work step of an entry of somebody's list."""
    _, person, number, word = parts
    job = data.get("job")
    people = list(_mapping(data.get("people")))
    if word not in ("for", *map(spelled, WAYS)) or not number.isdecimal():
        return
    path: Path_ = ("job",)
    if isinstance(job, list):
        steps = job if person in people else []
    else:
        steps, path = _mapping(job).get(person, []), ("job", person)
    index = int(number) - 1
    if isinstance(steps, list) and 0 <= index < len(steps):
        yield from _works(steps[index], (*path, index), word)


def _works(step: object, path: Path_, word: str) -> Iterator[Path_]:
    found = _mapping(step)
    if "work" in found:
        yield (*path, "work", word)
    inner = _mapping(found.get("repeat")).get("steps", [])
    for index, one in enumerate(inner if isinstance(inner, list) else ()):
        yield from _works(one, (*path, "repeat", "steps", index), word)


def _machine(data: Data, parts: list[str], value_at: Reader) -> Iterator[Path_]:
    """`people/machine/mass`: the load of a machine that drags a rope."""
    job = data.get("job")
    if parts[1:] != ["machine", "mass"] or data.get("people"):
        return
    for index, step in enumerate(job if isinstance(job, list) else ()):
        if "reciprocate" in _mapping(step):
            yield ("job", index, "reciprocate", "load")


def _mapping(found: object) -> Mapping[str, Any]:
    return found if isinstance(found, Mapping) else {}
