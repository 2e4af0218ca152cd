"""The rival wear laws beside the shipped one, each given T1, on what it was not given."""

from __future__ import annotations

from dataclasses import dataclass, replace

from edgewear.validation import trade_tests
from edgewear.validation.trials import compiled, nominal, unbreakable, with_law

LAWS = {
    "weighted": "weighted by pressure and speed (shipped)",
    "threshold": "cold part and what is above a power threshold (rival)",
    "energy": "plain friction energy",
}
"""Law -> what it is in words."""

GIVEN_M = "3.5 m"
"""Where each law is told that T1's sheath breaks."""


@dataclass(frozen=True)
class Rival:
    """Nominal sheath demands under one law [1]."""

    law: str
    smooth: float  # T2, seen below 0.5
    normal: float  # the same climbed normally, not observed
    smooth_other_system: float  # T3, seen below 0.6
    thin: float  # T4 at 3 m, seen above 1
    reinforced: float  # T6, seen below 0.5


def rivals() -> tuple[Rival, ...]:
    """Compare the laws; each has one number left, and T1 takes it."""
    return tuple(_rival(law) for law in LAWS)


def _rival(law: str) -> Rival:
    broken = _demand(replace(trade_tests.T1, times=1, height=GIVEN_M), law)

    def of(one: trade_tests.Observed, **changed: str) -> float:
        return _demand(replace(one, times=1, **changed), law) / broken  # type: ignore[arg-type]

    return Rival(
        law=law,
        smooth=of(trade_tests.T2),
        normal=of(trade_tests.T2, technique="normal"),
        smooth_other_system=of(trade_tests.T3_SMOOTH),
        thin=of(trade_tests.T4, height="3 m"),
        reinforced=of(trade_tests.T6),
    )


def _demand(one: trade_tests.Observed, law: str) -> float:
    """Demand under a law with the shipped sheath energy; only ratios mean anything."""
    case, tape = compiled(one.text)
    return float(nominal(unbreakable(with_law(case, law)), tape)["sheath_demand_max"][0])
