"""Flaws planted one at a time into procedures that pass everything: each is caught."""

from __future__ import annotations

import pytest

from edgewear.errors import EdgewearError
from edgewear.procedure.faults import faults
from edgewear.scenario import load_text
from support.planted.flaws import FLAWS, NOT_CAUGHT, Flaw
from support.planted.found import ERROR, Trouble, troubles
from support.planted.sound import BASES, Change, text_of

SAMPLED = 11
"""Every so manieth flaw is planted by default."""


def found_in(base: str, change: Change) -> set[Trouble]:
    """What is held against a procedure; one trial of each fault shows what is typed wrong."""
    try:
        scenario = load_text(text_of(base, change), "planted.yaml")
        return troubles(faults(scenario, replicates=1, workers=1).as_json())
    except EdgewearError as error:
        return {Trouble(ERROR, line.partition(": ")[0], line) for line in str(error).splitlines()}


def planted(number: int, flaw: Flaw):
    """A flaw as a case of the test."""
    marks = [] if number % SAMPLED == 0 else [pytest.mark.long]
    if flaw.name in NOT_CAUGHT:
        marks.append(pytest.mark.xfail(strict=True, reason=NOT_CAUGHT[flaw.name]))
    return pytest.param(flaw, id=f"{flaw.family}: {flaw.name}", marks=marks)


@pytest.mark.parametrize("base", BASES)
def test_the_procedures_without_a_flaw_pass_everything(base) -> None:
    assert found_in(base, {}) == set()


@pytest.mark.parametrize("flaw", [planted(k, flaw) for k, flaw in enumerate(FLAWS)])
def test_a_flaw_is_caught(flaw: Flaw) -> None:
    found = found_in(flaw.base, flaw.change)
    named = [one for one in found if one.kind == flaw.caught_as]
    assert any(flaw.naming in f"{one.where} {one.words}" for one in named), sorted(found)
    if flaw.caught_as == ERROR:  # file:line:column
        assert all(one.where.split(":")[2:] and one.where.count(":") == 2 for one in named)


def test_there_are_at_least_sixty_in_twelve_families(capsys) -> None:
    names = [flaw.name for flaw in FLAWS]
    assert len(names) == len(set(names)), "a name twice"
    assert len(names) >= 60
    assert len({flaw.family for flaw in FLAWS}) >= 12
    assert set(NOT_CAUGHT) <= set(names), "listed as not caught, and not planted"
    with capsys.disabled():
        for name, why in NOT_CAUGHT.items():
            print(f"\nnot caught yet: {name}: {why}", end="")
