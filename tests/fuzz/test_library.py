"""Every number of a library, far out of its range: told in the library, not where it is used."""

from __future__ import annotations

import random
from collections.abc import Iterator
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest

from edgewear.scenario.read.libraries import built_in
from fuzz.kinds import KINDS, LIBRARY_SECTIONS, fallen, judged
from fuzz.mutants import dumped

FAR = ("0", "-1", "1e-300", "1e-5", "1e5", "1e12")
"""Numbers that few units let pass."""

FLAT = ("detection", "times", "wear", "work")
"""Sections that are one set of numbers."""

Place = tuple[str, ...]


def numbers_of(found: object, place: Place) -> Iterator[Place]:
    """Give the places of all numbers below one."""
    if isinstance(found, dict) and "value" not in found:
        for key, one in found.items():
            yield from numbers_of(one, (*place, key))
    elif isinstance(found, dict | int | float) or str(found)[:1].isdigit():
        yield place


PLACES = [place for name in LIBRARY_SECTIONS for place in numbers_of(built_in()[name], (name,))]


def with_number(place: Place, number: str) -> bytes:
    """Write a library of one entry, or a flat section, with another number in it."""
    section, word, *_ = place
    known = built_in()[section]
    whole: dict[str, Any] = {
        section: deepcopy(dict(known) if section in FLAT else {word: known[word]})
    }
    at: dict[str, Any] = whole
    for key in place[:-1]:
        at = at[key]
    before = at[place[-1]]
    before = before["value"] if isinstance(before, dict) else before
    at[place[-1]] = f"{number} {str(before).partition(' ')[2]}".strip()
    return dumped(whole)


def said_of(place: Place, number: str, folder: Path) -> str:
    """Say which promise fell, if one did."""
    path = folder / KINDS["library"].name
    path.write_bytes(with_number(place, number))
    return judged(KINDS["library"], path)


CONDITIONS = [place for place in PLACES if place[:2] == ("rope conditions", "new")]
SOME = random.Random(1).sample([(place, number) for place in PLACES for number in FAR], 60)


def test_a_number_far_out_of_its_range_is_told_in_the_library(tmp_path: Path) -> None:
    """Those of every new rope, which had no limits but the rope's own, and some of all others."""
    assert len(CONDITIONS) == 3
    tried = [(place, number) for place in CONDITIONS for number in FAR] + SOME
    assert {one: said for one in tried if (said := said_of(*one, tmp_path))} == {}
    assert fallen(KINDS["library"], 601_336, tmp_path) == ""


@pytest.mark.long
@pytest.mark.parametrize("number", FAR)
def test_every_number_far_out_of_its_range_is_told_in_the_library(
    number: str, tmp_path: Path
) -> None:
    assert {place: said for place in PLACES if (said := said_of(place, number, tmp_path))} == {}
