"""Levers of a study: which numbers of a case an address moves, or whether it must be compiled anew.

An address that moves nothing but numbers of a case is set in a batch, thousands of runs at once.
Whether it does is not declared anywhere but found out: the option is compiled with the value
typed, and if filling in the numbers that changed gives the same arrays and the same tape, that
is what the study does. Everything else is compiled anew for each value.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from edgewear.errors import Problem, RunFailed, ScenarioError
from edgewear.study.sweeping.values import Value, dimension_at, in_si

if TYPE_CHECKING:
    from edgewear.case import Uncertainty
    from edgewear.study.model import Ready, ScenarioModel, Typed

SAME = 1e-9
"""Relative difference below which filling and compiling agree: rounding of a few products."""

ARRAYS = ("people", "lines", "edges", "wear", "variants")

MOST_PROBES = 8
"""Values that are all tried; of more numbers the ends and the middle."""

COURSE = ("techniques", "job", "work", "tasks")
"""First words of names that may change the course of a job, beside places and masses."""

PLACED = {"edges": ("out", "along", "up"), "anchors": ("out", "along", "up"), "people": ("mass",)}
"""First and last words of others that may."""


@dataclass(frozen=True)
class Lever:
    """An address of a study and what it does."""

    address: str
    unit: str
    structural: bool  # compiled anew for each value
    sets: Mapping[str, tuple[str, ...]]  # option -> names of the case's numbers it sets
    values: tuple[Value, ...]  # SI where all are numbers, as typed otherwise
    refused: tuple[tuple[Value, Problem], ...] = ()  # values that alone cannot be used

    @property
    def dtype(self) -> str:
        """Type of its column."""
        return "str" if any(isinstance(value, str) for value in self.values) else "float64"


def lever_of(
    model: ScenarioModel, options: Sequence[str], address: str, typed: Sequence[Value]
) -> Lever:
    """Find out what an address does in every option.

    Parameters:
        model: the scenario.
        options: their names.
        address: perhaps with `*`.
        typed: every value it takes.

    Raises:
        ScenarioError: the address leads nowhere, or a value cannot be read there.
    """
    dimension = dimension_at(model, address)
    values = in_si(address, typed, dimension)
    unit = dimension.unit if dimension is not None and not isinstance(values[0], str) else ""
    if exact_by_name(model, options, address):
        sets = {option: _named(model, option, address) for option in options}
        return Lever(address, unit, False, sets, values)
    refused, probes = _probed(model, options, address, _tried(values))
    found = None if refused or not probes else _numeric(model, options, probes)
    if found is None:
        return Lever(address, unit, True, {}, values, refused)
    return Lever(address, unit, False, found, values)


def exact_by_name(model: ScenarioModel, options: Sequence[str], address: str) -> bool:
    """Tell whether an address is the name of a number that never changes the course of a job."""
    if may_change_course(address):
        return False
    return any(_named(model, option, address) for option in options)


def may_change_course(name: str) -> bool:
    """Tell whether a number may decide where people hang or what movements they make."""
    first, last = name.partition("/")[0], name.rpartition("/")[2]
    return first in COURSE or last in PLACED.get(first, ())


def moves_numbers_alone(
    model: ScenarioModel, option: str, ends: Mapping[str, tuple[float, float]]
) -> bool:
    """Tell whether filling numbers in gives what compiling gives.

    Parameters:
        model: the scenario.
        option: its name.
        ends: name -> ends of its range; all low ends are tried together, and all high ends.
    """
    for values in zip(*ends.values(), strict=True):
        typed = dict(zip(ends, values, strict=True))
        try:
            probe = model.ready(option, tuple(typed.items()))
        except (ScenarioError, RunFailed):
            return False
        base = model.ready(option)
        if not set(_moved(base, [probe])) <= set(typed) or not _agree(base, probe, typed):
            return False
    return True


def _is(found: float, value: float) -> bool:
    return abs(found - value) <= SAME * abs(value)


def _named(model: ScenarioModel, option: str, name: str) -> tuple[str, ...]:
    return (name,) if name in {one.name for one in model.uncertainties(option)} else ()


def _tried(values: tuple[Value, ...]) -> tuple[Value, ...]:
    """The values to try: of many numbers the ends and one in the middle."""
    if len(values) <= MOST_PROBES or any(isinstance(value, str) for value in values):
        return values
    rising = sorted(values, key=float)
    return tuple(dict.fromkeys((rising[0], rising[len(rising) // 2], rising[-1])))


Probes = Mapping[Value, Mapping[str, "Ready"]]


def _probed(
    model: ScenarioModel, options: Sequence[str], address: str, tried: Sequence[Value]
) -> tuple[tuple[tuple[Value, Problem], ...], Probes]:
    """Compile every option with each value; what alone cannot be used, and what could.

    A course that cannot be computed leaves no probes: its rows will say so.
    """
    refused: list[tuple[Value, Problem]] = []
    probes: dict[Value, Mapping[str, Ready]] = {}
    for value in tried:
        replaced: Typed = ((address, value),)
        try:
            probes[value] = {option: model.ready(option, replaced) for option in options}
        except ScenarioError as error:
            refused.append((value, error.problems[0]))
        except RunFailed:
            return tuple(refused), {}
    return tuple(refused), probes


def _numeric(
    model: ScenarioModel, options: Sequence[str], probes: Probes
) -> dict[str, tuple[str, ...]] | None:
    """Names that a lever moves, if it moves numbers alone; None for any other."""
    sets: dict[str, tuple[str, ...]] = {}
    for option in options:
        base = model.ready(option)
        names = _moved(base, [by_option[option] for by_option in probes.values()])
        for value, by_option in probes.items():
            if not _set_by(value, by_option[option], names):
                return None
            known = _by_name(by_option[option])
            if not _agree(base, by_option[option], {name: known[name].median for name in names}):
                return None
        sets[option] = names
    return sets


def _set_by(value: Value, probe: Ready, names: Sequence[str]) -> bool:
    """Whether every number moved is the lever's value."""
    known = _by_name(probe)
    if isinstance(value, str):
        return not names
    return all(name in known and _is(known[name].median, value) for name in names)


def _moved(base: Ready, probes: Sequence[Ready]) -> tuple[str, ...]:
    """Names of the numbers that any probe gives another nominal value."""
    before = _by_name(base)
    moved = dict.fromkeys(
        name
        for probe in probes
        for name, one in _by_name(probe).items()
        if name in before and one.median != before[name].median
    )
    return tuple(moved)


def _agree(base: Ready, probe: Ready, typed: Mapping[str, float]) -> bool:
    """Whether filling numbers in gives what compiling gave; what was typed may vary no more."""
    from edgewear.engine.run_job import course_of

    values = {name: np.array([value]) for name, value in typed.items()}
    if not set(_by_name(probe)) ^ set(_by_name(base)) <= set(typed):
        return False
    batch = base.case.batch(base.tape, values, 1)
    tape = course_of(base.case, batch, 0, values).movements if base.follows else batch.tape[0]
    if tape.shape != probe.tape.shape:
        return False
    pairs: list[tuple[Any, Any]] = [
        (getattr(batch, name)[0], getattr(probe.case, name)) for name in ARRAYS
    ]
    return all(_close(one, other) for one, other in [*pairs, (tape, probe.tape)])


def _close(one: NDArray[np.void], other: NDArray[np.void]) -> bool:
    if one.shape != other.shape:
        return False
    names = one.dtype.names or ()
    return all(np.allclose(one[n], other[n], rtol=SAME, atol=1e-12, equal_nan=True) for n in names)


def _by_name(ready: Ready) -> dict[str, Uncertainty]:
    return {one.name: one for one in ready.case.uncertainties}
