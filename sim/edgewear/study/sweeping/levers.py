"""Levers of a study: which places of a case an address moves, or whether it must be compiled anew.

An address that moves nothing but numbers of a case is set in a batch, thousands of runs at once.
Whether it does is not declared anywhere but found out: the option is compiled with the value
typed, and if patching the numbers that changed gives the same arrays and the same tape, patching
is what the study does. Everything else is compiled anew for each value.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from edgewear.errors import RunFailed

if TYPE_CHECKING:
    from edgewear.case import Uncertainty
    from edgewear.study.model import Ready, ScenarioModel, Typed

SAME = 1e-9
"""Relative difference below which patching and compiling agree: rounding of a few products."""

ARRAYS = ("people", "lines", "edges", "wear")

Value = str | float


@dataclass(frozen=True)
class Lever:
    """An address of a study and what it does."""

    address: str
    unit: str
    structural: bool  # compiled anew for each value
    sets: Mapping[str, tuple[str, ...]]  # option -> names of the case's numbers it sets
    values: tuple[Value, ...]  # SI where it is not structural, as typed otherwise

    @property
    def dtype(self) -> str:
        """Type of its column."""
        return "str" if self.structural else "float64"


def lever_of(
    model: ScenarioModel, options: Sequence[str], address: str, typed: Sequence[Value]
) -> Lever:
    """Find out what an address does in every option.

    Parameters:
        model: the scenario.
        options: their names.
        address: perhaps with `*`.
        typed: every value it takes, or for a column of numbers its two ends.

    Raises:
        ScenarioError: the address leads nowhere, or a value cannot be used.
    """
    probes: dict[Value, dict[str, Ready]] = {}
    try:
        for value in typed:
            replaced: Typed = ((address, value),)
            probes[value] = {option: model.ready(option, replaced) for option in options}
        found = _numeric(model, options, probes)
    except RunFailed:  # a course that cannot be computed: its rows will say so
        found = None
    if found is None:
        texts = tuple(str(value) for value in typed)
        return Lever(address, "", True, {}, texts)
    sets, values, unit = found
    return Lever(address, unit, False, sets, values)


def _numeric(
    model: ScenarioModel,
    options: Sequence[str],
    probes: Mapping[Value, Mapping[str, Ready]],
) -> tuple[dict[str, tuple[str, ...]], tuple[float, ...], str] | None:
    """Names, values and unit of a lever that moves numbers alone; None for any other."""
    sets: dict[str, tuple[str, ...]] = {}
    values: dict[Value, float] = {}
    unit = ""
    for option in options:
        base = model.ready(option)
        names = _moved(base, [probes[value][option] for value in probes])
        for value, by_option in probes.items():
            known = _by_name(by_option[option])
            if not set(names) <= set(known):
                return None
            found = {known[name].median for name in names}
            if len(found | ({values[value]} if value in values else set())) > 1:
                return None
            values.update(dict.fromkeys([value], *found) if found else {})
            if not _agree(base, by_option[option], names):
                return None
            unit = known[names[0]].unit if names else unit
        sets[option] = names
    if set(values) != set(probes):
        return None
    return sets, tuple(values[value] for value in probes), unit


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


def _agree(base: Ready, probe: Ready, names: Sequence[str]) -> bool:
    """Whether patching the base's numbers gives what compiling gave."""
    known = _by_name(probe)
    values = {name: np.array([known[name].median]) for name in names}
    if base.tape.shape != probe.tape.shape or base.case.edges.shape != probe.case.edges.shape:
        return False
    batch = base.case.batch(base.tape, values, 1)
    pairs: list[tuple[NDArray[np.void], NDArray[np.void]]] = [
        (getattr(batch, name)[0], getattr(probe.case, name)) for name in ARRAYS
    ]
    return all(_close(one, other) for one, other in [*pairs, (batch.tape[0], probe.tape)])


def _close(one: NDArray[np.void], other: NDArray[np.void]) -> bool:
    if one.shape != other.shape:
        return False
    names = one.dtype.names or ()
    return all(np.allclose(one[n], other[n], rtol=SAME, atol=0, equal_nan=True) for n in names)


def _by_name(ready: Ready) -> dict[str, Uncertainty]:
    return {one.name: one for one in ready.case.uncertainties}
