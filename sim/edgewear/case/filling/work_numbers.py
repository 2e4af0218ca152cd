"""The numbers of work in place: how long it lasts, how somebody moves at it; those of runs too.

Each movement of a tape is one step of work as it was made, in order: so are the steps of the job,
every round of a repeat counted. Of work that was interrupted the pieces keep their shares.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear.case.filling.numbers import Column, Numbers
from edgewear.case.model import Records
from edgewear.layout import TICK_S, Kind
from edgewear.scenario.models.scenario import Scenario
from edgewear.scenario.models.steps import Step, Swing, Work
from edgewear.scenario.models.walking import leaves, rounds
from edgewear.scenario.text.quantities import Measured
from edgewear.scenario.working import WAYS, ways

PACES = ("bounce_rate", "sway_rate")
"""Rates; which of them sets the pace depends on whether somebody bounces or works a tool."""


class Made(NamedTuple):
    """A step of work, and which movements of a tape it made."""

    name: str  # path of its entry in the job: job/person/number
    step: Work
    alone: bool  # the only work of its entry, whose own numbers may therefore be named by it
    moving: NDArray[np.int64]  # indices of the tape
    still: NDArray[np.int64]


def ways_that_vary(scenario: Scenario, people: Sequence[str]) -> dict[str, Measured]:
    """Give how people move at work, where it is no exact number, by address.

    What a task or nothing stands for is one number everywhere. Of an entry of the job with several
    works only such numbers vary, not those typed: they have no address of their own.
    """
    found: dict[str, Measured] = {}
    for name, step, alone in _works(scenario, people):
        beating = any(not _never(scenario, step, name, word) for word in ("bounce", "tool"))
        for field, one in ways(scenario, step, name).items():
            if one.value.is_exact or (field == "bounce_rate" and not beating):
                continue
            if alone or one.said != "step":
                found.setdefault(one.address, one.value)
    return found


def _never(scenario: Scenario, step: Work, name: str, field: str) -> bool:
    """Tell whether a number is 0 in every run."""
    value = ways(scenario, step, name)[field].value
    return value.is_exact and value.value == 0.0


def _works(scenario: Scenario, people: Sequence[str]) -> Iterator[tuple[str, Work, bool]]:
    for person in people:
        for number, entry in enumerate(scenario.job.get(person, ()), start=1):
            mine = [step for step in leaves((entry,)) if isinstance(step, Work)]
            for step in mine:
                yield f"job/{person}/{number}", step, len(mine) == 1


def write_work(scenario: Scenario, people: Sequence[str], tape: Records, numbers: Numbers) -> None:
    """Write how work lasts and how people move at it into the tapes of runs.

    Parameters:
        scenario: of the case.
        people: by row.
        tape: MOVEMENT (runs, m), as recorded with the scenario's numbers; changed in place.
        numbers: of the runs.
    """
    for made in _made(scenario, people, tape[0]):
        said = ways(scenario, made.step, made.name)
        own = {f: made.alone or one.said != "step" for f, one in said.items()}
        found = {
            f: numbers(one.address, one.value) if own[f] else one.value.value
            for f, one in said.items()
        }
        lasts: Column = made.step.for_.value
        if made.alone:
            lasts = numbers(f"{made.name}/for", made.step.for_)
        if any(numbers.moves(said[f].address) for f in WAYS if own[f]):
            _write_ways(tape, made.moving, found)
        before = made.step.for_.value, said["duty"].value.value
        _write_lasting(tape, made.moving, lasts * found["duty"], before[0] * before[1])
        _write_lasting(tape, made.still, lasts * (1.0 - found["duty"]), before[0] * (1 - before[1]))


def _write_ways(tape: Records, moving: NDArray[np.int64], found: dict[str, Column]) -> None:
    for field in ("bounce", "sway", "tool"):
        unit = "n" if field == "tool" else "m"
        tape[f"{field}_{unit}"][:, moving] = np.reshape(found[field], (-1, 1))
    beating = (np.asarray(found["bounce"]) > 0.0) | (np.asarray(found["tool"]) > 0.0)
    pace = np.where(beating, *(found[rate] for rate in PACES))
    tape["bounce_hz"][:, moving] = np.reshape(pace, (-1, 1))
    tape["sway_hz"][:, moving] = np.reshape(found["sway_rate"], (-1, 1))


def _write_lasting(
    tape: Records, places: NDArray[np.int64], lasts_s: Column, before_s: float
) -> None:
    """Write how long movements last; one made whole lasts exactly so, a piece keeps its share."""
    if not places.size or before_s <= 0.0:
        return
    whole = round(before_s / TICK_S)
    ratio = np.reshape(np.asarray(lasts_s) / before_s, (-1, 1))
    exact = np.reshape(np.asarray(lasts_s) / TICK_S, (-1, 1))
    for field in ("duration_ticks", "cut_ticks"):
        before = tape[field][0, places]
        tape[field][:, places] = np.rint(np.where(before == whole, exact, ratio * before))


def _made(scenario: Scenario, people: Sequence[str], tape: Records) -> Iterator[Made]:
    """Give every step of work with its movements; those that cannot be told apart are left out."""
    for row, person in enumerate(people):
        for number, entry in enumerate(scenario.job.get(person, ()), start=1):
            mine = np.flatnonzero((tape["person"] == row) & (tape["step"] == number))
            for step, moving in _told_apart(entry, tape, mine):
                alone = sum(isinstance(s, Work) for s in leaves((entry,))) == 1
                still = _still_after(tape, mine, moving)
                yield Made(f"job/{person}/{number}", step, alone, moving, still)


def _told_apart(
    entry: Step, tape: Records, mine: NDArray[np.int64]
) -> Iterator[tuple[Work, NDArray[np.int64]]]:
    """Give the works of an entry of the job with their movements."""
    moving = mine[tape["kind"][mine] == Kind.WORK]
    made = [step for _, step in rounds((entry,)) if isinstance(step, Work | Swing)]
    kinds = list(dict.fromkeys(map(id, made)))
    if len(kinds) == 1 and isinstance(made[0], Work):
        yield made[0], moving
    elif len(made) == len(moving):
        for one in kinds:
            step = next(step for step in made if id(step) == one)
            if isinstance(step, Work):
                yield step, moving[[id(other) == one for other in made]]


def _still_after(
    tape: Records, mine: NDArray[np.int64], moving: NDArray[np.int64]
) -> NDArray[np.int64]:
    """Give the time in which somebody hangs still after moving at work to its end."""
    ended = moving[tape["cut_ticks"][moving] == 0]
    after = np.isin(mine[:-1], ended) & (tape["kind"][mine[1:]] == Kind.HOLD)
    found: NDArray[np.int64] = mine[1:][after]
    return found
