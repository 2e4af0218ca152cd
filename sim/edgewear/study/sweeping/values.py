"""Values of a study's columns, read at the address where they will stand, numbers in SI."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from edgewear.errors import Problem, ScenarioError

if TYPE_CHECKING:
    from edgewear.scenario.text.quantities import Quantity
    from edgewear.scenario.text.units import Dimension
    from edgewear.study.model import ScenarioModel

Value = str | float

THIN, THICKEST_M = ("radius", "diameter"), 0.2
"""Lengths that people type in mm; none is as much as this [m]."""

LEAST_FORCE_N = 500.0
"""No strength is below this, so that a smaller bare number is likely meant in kN [N]."""


class Refused(ScenarioError):
    """A value that cannot be read at its address; the caller knows where it was typed."""

    def __init__(self, value: Value, problem: Problem) -> None:
        """Keep which value it is.

        Parameters:
            value: as typed.
            problem: without a place.
        """
        super().__init__([problem])
        self.value = value


@lru_cache(maxsize=8)
def _data(text: str, path: str) -> dict[str, Any]:
    from edgewear.scenario.text.tree import parse_tree

    data: dict[str, Any] = parse_tree(text, path).data
    return data


def places(model: ScenarioModel, address: str) -> frozenset[Any]:
    """Give the paths in the file that an address stands for.

    Raises:
        ScenarioError: it leads nowhere.
    """
    from edgewear.scenario.read.addresses import matching

    match = matching(_data(model.text, model.path), address)
    if match.problem:
        raise ScenarioError([Problem("", 0, 0, address, f"leads nowhere: {match.problem}")])
    return frozenset(match.paths)


def quantity_at(model: ScenarioModel, address: str) -> Quantity | None:
    """Give the kind of quantity that is typed at an address; None: a word or a count.

    Raises:
        ScenarioError: the address leads nowhere.
    """
    from edgewear.scenario.read.addresses import quantity_due

    data = _data(model.text, model.path)
    kinds = {quantity_due(path, data) for path in places(model, address)}
    return kinds.pop() if len(kinds) == 1 else None


def dimension_at(model: ScenarioModel, address: str) -> Reader | None:
    """Give what reads the quantities at an address; None where words or counts stand."""
    kind = quantity_at(model, address)
    return None if kind is None else Reader(kind)


class Reader:
    """Reads what is typed at an address."""

    def __init__(self, quantity: Quantity) -> None:
        """Read this kind of quantity.

        Parameters:
            quantity: with its limits.
        """
        from edgewear.scenario.text.units import DIMENSIONS

        self.quantity = quantity
        self.dimension: Dimension = DIMENSIONS[quantity.dimension]

    @property
    def unit(self) -> str:
        """SI unit."""
        return self.dimension.unit

    def factor(self, unit: str) -> float | None:
        """Give what a number in a unit is multiplied by; None: no unit of this quantity."""
        return 1.0 if unit == self.unit else self.dimension.factors.get(unit)

    def other_unit(self, address: str, number: float) -> str:
        """Name the units that a bare number may be meant in, where two are likely; else empty."""
        word, name = address.rpartition("/")[2], self.dimension.name
        size = abs(number)
        if name == "angle":
            return "deg and rad"
        if name == "time" and word == "for":
            return "min and s"
        if name == "length" and word in THIN and size > THICKEST_M:
            return "mm and m"
        if name == "force" and 0.0 < size < LEAST_FORCE_N:
            return "kN and N"
        return ""

    def si(self, address: str, value: Value) -> float:
        """Read a value in SI.

        Raises:
            Refused: it is no such quantity.
        """
        from edgewear.scenario.text.quantity_text import QuantityProblem, read_quantity

        try:
            return read_quantity(value, self.quantity, {}).value
        except QuantityProblem as problem:
            raise Refused(value, Problem("", 0, 0, address, str(problem))) from problem


def in_si(address: str, typed: Sequence[Value], reader: Reader | None) -> tuple[Value, ...]:
    """Read the values of an address: numbers in SI where all are quantities, else as typed.

    Parameters:
        typed: in order.
        reader: of the address; None where words or counts stand.

    Raises:
        Refused: a value that is no such quantity.
    """
    if reader is None:
        return tuple(typed)
    if any(_other_loads(value) for value in typed):
        return tuple(map(str, typed))
    return tuple(reader.si(address, value) for value in typed)


def _other_loads(value: Value) -> bool:
    """Tell whether a text is an elongation at one load, whose meaning depends on the rope."""
    import re

    from edgewear.scenario.text.stiffness import OTHER_LOADS

    return isinstance(value, str) and re.fullmatch(OTHER_LOADS, value.strip()) is not None
