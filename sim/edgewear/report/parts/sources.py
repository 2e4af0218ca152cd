"""What the report reads: the ranking and the nominal tables of a dataset, as plain sequences."""

from __future__ import annotations

from collections.abc import Callable, Container, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Protocol, TypeVar

from edgewear import spelt
from edgewear.dataset.ranking.model import Ranking

Row = TypeVar("Row")


@dataclass(frozen=True)
class Curve:
    """Columns of one rope of a line of one option, as far as a chart needs them."""

    line: str
    columns: Mapping[str, Sequence[float]]
    rope: int = 1  # of the line; 0: its last one alone, of a dataset of before
    several: bool = False  # whether the line had more than one

    @property
    def name(self) -> str:
        """The line, and which of its ropes where it had several."""
        return spelt.one_rope(self.line, self.rope) if self.several else self.line


@dataclass(frozen=True)
class Happening:
    """One event of a nominal run."""

    time_s: float
    who: str
    what: str
    step: int
    detail: str
    value: float


@dataclass(frozen=True)
class StepWear:
    """What one step of the nominal run added to the demand of a line, where it is worn most."""

    line: str
    person: str  # whose line it is
    by: str  # who made the step
    step: int
    demand: float


@dataclass(frozen=True)
class Source:
    """One dataset as the report uses it."""

    ranking: Ranking
    wear: Mapping[str, tuple[Curve, ...]]  # by option
    timeline: Mapping[str, tuple[Curve, ...]]  # by option
    events: Mapping[str, tuple[Happening, ...]]  # by option
    step_wear: Mapping[str, tuple[StepWear, ...]] = field(default_factory=dict)  # by option


class Columnar(Protocol):
    """A table that can be read as a dictionary of columns."""

    def to_pydict(self) -> dict[str, list[Any]]:
        """Give the columns by name."""
        ...


def source(
    ranking: Ranking,
    wear: Columnar,
    timeline: Columnar,
    events: Columnar,
    step_wear: Columnar | None = None,
) -> Source:
    """Put a ranking and its nominal tables together.

    Parameters:
        ranking: computed by the dataset.
        wear, timeline, events: tables with the columns of `records`.
        step_wear: the same; datasets of an older edgewear have none.
    """
    worn, course = wear.to_pydict(), timeline.to_pydict()
    several = {
        (option, line)
        for table in (worn, course)
        for option, line, rope in zip(table["option"], table["line"], table["rope"], strict=True)
        if rope > 1
    }
    return Source(
        ranking,
        _curves(worn, ("along_m", "demand"), several),
        _curves(course, ("time_s", "tension_n", "slip_m", "demand"), several),
        _by_option(events.to_pydict(), _happening),
        _by_option(step_wear.to_pydict(), _step_wear) if step_wear is not None else {},
    )


def _curves(
    table: Mapping[str, Sequence[Any]], names: Sequence[str], several: Container[tuple[str, str]]
) -> dict[str, tuple[Curve, ...]]:
    rows: dict[tuple[str, str, int], list[int]] = {}
    for index, key in enumerate(zip(table["option"], table["line"], table["rope"], strict=True)):
        rows.setdefault(key, []).append(index)
    curves: dict[str, tuple[Curve, ...]] = {}
    for (option, line, rope), indices in rows.items():
        columns = {name: [float(table[name][index]) for index in indices] for name in names}
        found = Curve(line, columns, rope, (option, line) in several)
        curves[option] = (*curves.get(option, ()), found)
    return curves


def _by_option(
    table: Mapping[str, Sequence[Any]], make: Callable[[Mapping[str, Sequence[Any]], int], Row]
) -> dict[str, tuple[Row, ...]]:
    found: dict[str, list[Row]] = {}
    for index, option in enumerate(table["option"]):
        found.setdefault(option, []).append(make(table, index))
    return {option: tuple(rows) for option, rows in found.items()}


def _happening(table: Mapping[str, Sequence[Any]], index: int) -> Happening:
    return Happening(
        float(table["tick"][index]) * 1e-4,
        str(table["who"][index]),
        str(table["what"][index]),
        int(table["step"][index]),
        str(table["detail"][index]),
        float(table["value"][index]),
    )


def _step_wear(table: Mapping[str, Sequence[Any]], index: int) -> StepWear:
    return StepWear(
        str(table["line"][index]),
        str(table["person"][index]),
        str(table["by"][index]),
        int(table["step"][index]),
        float(table["demand"][index]),
    )
