"""Flaws planted one at a time into procedures that pass everything: each is caught."""

from __future__ import annotations

from typing import Any

import pytest

from edgewear.errors import EdgewearError
from edgewear.procedure.faults import faults
from edgewear.scenario import load_text
from support.planted.flaws import FLAWS, NOT_CAUGHT, Flaw
from support.planted.found import ABOVE, ERROR, SHARED, Trouble, troubles
from support.planted.sound import BASES, Change, text_of

SAMPLED = 11
"""Every so manieth flaw is planted by default."""


def judged(base: str, change: Change) -> tuple[set[Trouble], dict[str, Any] | None]:
    """What is held against a procedure, and the verdict; none where it cannot be used.

    One trial of each fault shows what is typed wrong.
    """
    try:
        scenario = load_text(text_of(base, change), "planted.yaml")
        document = faults(scenario, replicates=1, workers=1).as_json()
    except EdgewearError as error:
        told = str(error).splitlines()
        return {Trouble(ERROR, line.partition(": ")[0], line) for line in told}, None
    return troubles(document), document["verdict"]


def planted(number: int, flaw: Flaw):
    """A flaw as a case of the test."""
    marks = [] if number % SAMPLED == 0 else [pytest.mark.long]
    if flaw.name in NOT_CAUGHT:
        marks.append(pytest.mark.xfail(strict=True, reason=NOT_CAUGHT[flaw.name]))
    return pytest.param(flaw, id=f"{flaw.family}: {flaw.name}", marks=marks)


@pytest.mark.parametrize("base", BASES)
def test_the_procedures_without_a_flaw_pass_everything(base) -> None:
    found, verdict = judged(base, {})
    assert found == set()
    assert (verdict["fails"], verdict["points"]) == (False, [])


@pytest.mark.parametrize("flaw", [planted(k, flaw) for k, flaw in enumerate(FLAWS)])
def test_a_flaw_is_caught(flaw: Flaw) -> None:
    found, verdict = judged(flaw.base, flaw.change)
    named = [one for one in found if one.kind == flaw.caught_as]
    assert any(flaw.naming in f"{one.where} {one.words}" for one in named), sorted(found)
    if verdict is None:  # file:line:column
        assert all(one.where.split(":")[2:] and one.where.count(":") == 2 for one in named)
    elif flaw.caught_as != SHARED:  # a status tells of what lines share
        assert verdict["points"]
        assert verdict["fails"] or flaw.caught_as == ABOVE  # of a limit that nobody has set


def test_there_are_at_least_sixty_in_twelve_families(capsys) -> None:
    names = [flaw.name for flaw in FLAWS]
    assert len(names) == len(set(names)), "a name twice"
    assert len(names) >= 60
    assert len({flaw.family for flaw in FLAWS}) >= 12
    assert set(NOT_CAUGHT) <= set(names), "listed as not caught, and not planted"
    with capsys.disabled():
        for name, why in NOT_CAUGHT.items():
            print(f"\nnot caught yet: {name}: {why}", end="")
