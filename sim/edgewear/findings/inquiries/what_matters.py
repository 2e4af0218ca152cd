"""Which inputs decide an outcome: shares of its variance, with what so few rows leave open."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from edgewear.cautions import all_for

SCHEMA = "edgewear.what-matters/1"

SITE, TEST, ITSELF, CHOSEN = "measured on site", "tested", "varies by itself", "chosen"
"""What could make an input better known, or that it is chosen."""


@dataclass(frozen=True)
class Share:
    """A share of the variance and its 90 % interval from finite rows [1]."""

    value: float
    low: float
    high: float

    def as_json(self) -> dict[str, float]:
        """All of it as a JSON object."""
        return dict(vars(self))


@dataclass(frozen=True)
class Influence:
    """What one input has to do with the outcome."""

    address: str
    group: str  # SITE, TEST, ITSELF or CHOSEN
    alone: Share  # first order: what knowing it would take off the variance
    total: Share  # with all it does together with others
    worse: str  # "more", "less" or "" (neither): which way lowers the outcome
    along_with: str = ""  # a more important input that it rises and falls with

    def as_json(self) -> dict[str, Any]:
        """All of it as a JSON object."""
        shares = {"alone": self.alone.as_json(), "total": self.total.as_json()}
        return {
            "address": self.address,
            "group": self.group,
            **shares,
            "worse": self.worse,
            "along_with": self.along_with,
        }


@dataclass(frozen=True)
class OptionInfluences:
    """The inputs of one option, the most important first."""

    option: str
    rows: int
    spread: tuple[float, float]  # 5th and 95th percentile of the outcome
    inputs: tuple[Influence, ...]
    unexplained: Share | None
    """Neither single inputs nor pairs: strokes, higher orders. None: a design does not ask."""
    samples: tuple[tuple[str, tuple[float, ...], tuple[float, ...]], ...] = ()
    """(address, values in SI, outcome) of the two most important, for pictures."""

    def group(self, name: str) -> float:
        """Sum of the shares of single inputs of a group [1]."""
        return sum(one.alone.value for one in self.inputs if one.group == name)

    def as_json(self) -> dict[str, Any]:
        """All of it as a JSON object."""
        return {
            "option": self.option,
            "rows": self.rows,
            "spread": list(self.spread),
            "groups": {name: self.group(name) for name in (SITE, TEST, ITSELF, CHOSEN)},
            "unexplained": None if self.unexplained is None else self.unexplained.as_json(),
            "inputs": [one.as_json() for one in self.inputs],
        }


@dataclass(frozen=True)
class LeftOut:
    """An option of which no shares can be told, and what is missing."""

    option: str
    inputs: int  # that vary
    rows: int  # that could be computed
    rows_due: int
    draws: int | None = None  # different ones among the rows; None: each row has one of its own
    draws_due: int = 0

    @property
    def words(self) -> str:
        """The finding in words."""
        if not self.rows:
            return f"{self.option}: none of its rows could be computed to the end of the plan"
        if not self.inputs:
            return f"{self.option}: no input varies in {_count(self.rows, 'row')}"
        found = []
        if self.rows < self.rows_due:
            found.append(
                f"{_count(self.rows, 'row')} for {_count(self.inputs, 'varying input')}, "
                f"at least {self.rows_due:,} are due"
            )
        if self.draws is not None and self.draws < self.draws_due:
            found.append(
                f"{_count(self.draws, 'different draw')}, at least {self.draws_due:,} are "
                "due: one that is played at many points of a grid counts once"
            )
        return f"{self.option}: {'; '.join(found)}"


def _count(many: int, what: str) -> str:
    return f"{many:,} {what}" + "s" * (many != 1)


@dataclass(frozen=True)
class WhatMatters:
    """Which inputs decide an outcome, option by option."""

    title: str
    outcome: str  # column of the runs
    how: str  # "rows of a dataset" or "a design of its own"
    options: tuple[OptionInfluences, ...]
    left_out: tuple[LeftOut, ...] = ()

    @property
    def cautions(self) -> tuple[str, ...]:
        """What must stand beside the figures."""
        return all_for(())

    def as_json(self) -> dict[str, Any]:
        """All of it as a JSON object."""
        return {
            "schema": SCHEMA,
            "title": self.title,
            "outcome": self.outcome,
            "how": self.how,
            "options": [one.as_json() for one in self.options],
            "left_out": [{**vars(one), "words": one.words} for one in self.left_out],
            "cautions": list(self.cautions),
        }
