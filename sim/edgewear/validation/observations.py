"""The observations beside what the shipped defaults predict: `self-check --observations`."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from math import inf
from typing import Any

import numpy as np
from numpy.typing import NDArray

from edgewear.case.judged.domain import domain_lines
from edgewear.percentiles import HIGH, LOW, MIDDLE, kept_to
from edgewear.scenario import load_text
from edgewear.validation.bench_tests import BENCH, Bench
from edgewear.validation.bench_tests import SOURCE as BENCH_SOURCE
from edgewear.validation.trade_tests import OBSERVED, SOURCE, T6, T8, UNITS, Observed
from edgewear.validation.trials import compiled, drawn, nominal, played
from edgewear.validation.undetermined import undetermined

Floats = NDArray[np.float64]

DRAWS = 512
COLUMNS = {
    "core visible": "core_visible_ascended_m",
    "demand": "sheath_demand_max",
    "core loss": "core_loss",
}
"""Quantity -> column of a run's outcome."""


@dataclass(frozen=True)
class Row:
    """One observation beside its prediction.

    The percentiles are over everything that is uncertain but the model's own discrepancy; null
    where more than that share of the worlds never showed it.
    """

    name: str
    source: str
    used_to_fit: bool
    observed: str
    quantity: str
    unit: str
    agrees_from: float
    agrees_to: float | None  # null: without end
    nominal: float | None
    p5: float | None
    p50: float | None
    p95: float | None
    parted: float
    """Share of the worlds in which the rope parted."""
    ok: bool
    """The nominal prediction agrees with what was seen, and the interval reaches it; of a bench
    test, whose rope and bench are known in part only, the interval reaches it."""


@dataclass(frozen=True)
class Observations:
    """All observations beside their predictions."""

    draws: int
    seed: int
    rows: tuple[Row, ...]

    @property
    def ok(self) -> bool:
        """Whether every listed observation agrees."""
        return all(row.ok for row in self.rows)

    def as_json(self) -> dict[str, Any]:
        """Give the document that `self-check --observations --json` prints."""
        return {
            "schema": "edgewear.observations/1",
            "draws": self.draws,
            "seed": self.seed,
            "summary": self.summary(),
            "observations": [asdict(row) for row in self.rows],
            "domain": dict(domain_lines()),
            "undetermined": [row._asdict() for row in undetermined(load_text(T6.text, T6.key))],
        }

    def summary(self) -> str:
        """Say how many observations the model agrees with, and how many of those were fitted."""
        agree = [row for row in self.rows if row.ok]
        fitted = sum(row.used_to_fit for row in agree)
        return (
            f"agrees with {len(agree)} of {len(self.rows)} observations, "
            f"{fitted} of them used to fit"
        )

    def lines(self) -> list[str]:
        """Give the table as lines of text."""
        return [_line(row) for row in self.rows] + [self.summary()]


def observations(draws: int = DRAWS, seed: int = 0) -> Observations:
    """Predict every observation with the shipped defaults."""
    rows = [row_of(one, draws, seed) for one in (*OBSERVED, T8)]
    rows += [bench_row(one, draws, seed) for one in BENCH]
    return Observations(draws, seed, tuple(rows))


def row_of(one: Observed, draws: int, seed: int) -> Row:
    """Predict one observation."""
    case, tape = compiled(one.text)
    runs = played(case, tape, drawn(case, draws, seed), seed)
    middle = _figure(nominal(case, tape)[COLUMNS[one.quantity]])[0]
    p5, p50, p95 = percentiles(_figure(runs[COLUMNS[one.quantity]]))
    return Row(
        name=one.name,
        source=SOURCE,
        used_to_fit=one.used_to_fit,
        observed=one.seen,
        quantity=one.quantity,
        unit=UNITS[one.quantity],
        agrees_from=one.low,
        agrees_to=one.high,
        nominal=_plain(middle),
        p5=_plain(p5),
        p50=_plain(p50),
        p95=_plain(p95),
        parted=float(np.isfinite(runs["parted_time_s"]).mean()),
        ok=bool(one.low <= middle <= one.high and p5 <= one.high and p95 >= one.low),
    )


def bench_row(one: Bench, draws: int, seed: int) -> Row:
    """Predict one rope on the bench."""
    middle, figures = one.figures(draws, seed)
    p5, p50, p95 = percentiles(figures)
    return Row(
        name=one.name,
        source=BENCH_SOURCE,
        used_to_fit=False,
        observed=one.seen,
        quantity="times as many cycles" if one.against else "core visible",
        unit=one.unit,
        agrees_from=one.low,
        agrees_to=_plain(one.high),
        nominal=_plain(middle),
        p5=_plain(p5),
        p50=_plain(p50),
        p95=_plain(p95),
        parted=0.0,  # the test ends when the core shows
        ok=bool(p5 <= one.high and p95 >= one.low),
    )


def percentiles(values: Floats) -> tuple[float, float, float]:
    """Give the 5th, 50th and 95th percentile; values that never came count as infinite."""
    low, middle, high = (kept_to(values, share) for share in (LOW, MIDDLE, HIGH))
    return low, middle, high


def _figure(column: Floats) -> Floats:
    """A column with what never happened put at infinity."""
    return np.where(np.isnan(column), inf, column)


def _plain(value: float) -> float | None:
    return None if value == inf else float(value)


def _line(row: Row) -> str:
    figures = ", ".join(
        f"{word} {'never' if value is None else f'{value:.3g}'}"
        for word, value in (("nominal", row.nominal), ("p5", row.p5), ("p50", row.p50),
                            ("p95", row.p95))
    )  # fmt: skip
    mark = "agrees" if row.ok else "DOES NOT AGREE"
    used = "used to fit" if row.used_to_fit else "prediction"
    return f"{mark}: {row.name} ({used}): seen: {row.observed}; {row.quantity}: {figures}"


__all__ = ["DRAWS", "Observations", "Row", "bench_row", "observations", "percentiles", "row_of"]
