"""A fall onto a safety line in a run, judged as every single failure is: drop, swing, does it hold.

The run itself moves on by the middle of everything; what is told of a catch is its careful end.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from math import isfinite

from edgewear.findings.failure import Failure
from edgewear.procedure.rescue_ways.moment import Fall, Moment, Someone
from edgewear.rigging.findings.failures import failures_at
from edgewear.rigging.findings.standing import Place
from edgewear.scenario.models.scenario import Line, Option, PersonLines, Scenario
from edgewear.scenario.text.quantities import Measured
from edgewear.terms import SAFETY


@dataclass(frozen=True)
class Caught:
    """How somebody was caught."""

    drop_m: float | None  # the longest, at its careful end; None: nowhere, or nothing ends it
    swing_m: float | None = None
    holds: bool | None = True  # whether the catch holds; None: nobody can tell
    why: str = ""  # it does not


def caught(
    scenario: Scenario, option: str, who: Someone, now: Moment, extra_kg: Mapping[str, float]
) -> Caught:
    """Say how somebody was caught, by the worst of their falls.

    Parameters:
        now: with the edges whose protection is gone.
        extra_kg: what faults have added to people's weight.
    """
    found = Caught(who.drop_m)
    meant = _as_it_was(scenario, option, now.bare, extra_kg)
    for fall in who.falls:
        row = _row(meant, option, who.name, fall, now.gone) if isfinite(fall.from_m) else None
        if row is not None:
            one = _of(row, found.drop_m)
            found = max(found, one, key=_gravity)
    return found


def _of(row: Failure, least_m: float | None) -> Caught:
    if row.holds is False:  # how far the run let somebody drop until then says nothing
        return Caught(None, None, False, row.why)
    drop_m = max(row.drop_careful_m or 0.0, least_m or 0.0)
    return Caught(drop_m, row.swing_m, row.holds, "" if row.holds else row.why)


def _gravity(one: Caught) -> tuple[bool, bool, bool, float]:
    return one.holds is False, one.holds is None, one.swing_m is not None, one.drop_m or 0.0


def _row(
    scenario: Scenario, option: str, person: str, fall: Fall, gone: Collection[str]
) -> Failure | None:
    """The single failure that let somebody fall, where they fell from.

    Of their working rope where the safety line caught them; else of a re-anchor that is gone, where
    the rope above it did.
    """
    place = Place(fall.step, fall.from_m, fall.made)
    [rows] = failures_at(scenario, option, person, [place])
    if fall.role == SAFETY:
        return next((row for row in rows if row.kind == "rope"), None)
    return next((row for row in rows if row.kind == "re-anchor" and row.component in gone), None)


def _as_it_was(
    scenario: Scenario, option: str, bare: Collection[str], extra_kg: Mapping[str, float]
) -> Scenario:
    """The scenario with people as heavy, and edges as bare, as they were in the end."""
    chosen: Option = scenario.options[option]
    people = {
        name: who.model_copy(update={"mass": Measured.exact(who.mass.value + extra_kg[name], "kg")})
        if name in extra_kg
        else who
        for name, who in chosen.people.items()
    }
    lines = {name: _bared(both, bare) for name, both in chosen.lines.items()}
    changed = chosen.model_copy(update={"people": people, "lines": lines})
    return scenario.model_copy(update={"options": {**scenario.options, option: changed}})


def _bared(both: PersonLines, bare: Collection[str]) -> PersonLines:
    def without(line: Line) -> Line:
        kept = {edge: piece for edge, piece in line.protect.items() if edge not in bare}
        return line.model_copy(update={"protect": kept})

    safety = None if both.safety is None else without(both.safety)
    return both.model_copy(update={"working": without(both.working), "safety": safety})
