"""Units against an independent table, and numbers that must not be guessed at."""

from __future__ import annotations

import contextlib
import warnings
from functools import cache
from math import isfinite
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear.scenario.text.units import DIMENSIONS, UnitProblem, to_si

PINT = {
    "per s": "1/s",
    "per min": "1/minute",
    "per h": "1/hour",
    "J/m3": "J/m**3",
    "J/mm3": "J/mm**3",
    "W/m2": "W/m**2",
    "kW/m2": "kW/m**2",
    "MW/m2": "MW/m**2",
    "W/(m K)": "W/(m*K)",
    "J/(m3 K)": "J/(m**3*K)",
    "%": "percent",
    "in": "inch",
    "ft": "foot",
    "lb": "pound",
    "kgf": "kilogram_force",
    "lbf": "pound_force",
    "h": "hour",
    "": "dimensionless",
    "1": "dimensionless",
    "degC": "kelvin",  # differences and ratios of one unit only: the factor is 1
    "m3": "m**3",
}


@cache
def registry() -> Any:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # pint's own parser warns on newer Pythons
        import pint

        return pint.UnitRegistry()


UNITS = [(d.name, unit) for d in DIMENSIONS.values() for unit in d.factors]


@pytest.mark.parametrize(("name", "unit"), UNITS)
def test_factor_is_that_of_the_oracle(name: str, unit: str) -> None:
    dimension = DIMENSIONS[name]
    target = PINT.get(dimension.unit, dimension.unit)
    oracle = registry().Quantity(1.0, PINT.get(unit, unit)).to(target).magnitude
    # float64 round-off of at most two multiplications
    assert to_si(f"1 {unit}", dimension) == pytest.approx(oracle, rel=4e-16, abs=0)


@given(st.integers(min_value=-10_000, max_value=10_000))
def test_millimetres_read_like_the_decimal_number(value: int) -> None:
    assert to_si(f"{value} mm", DIMENSIONS["length"]) == float(f"{value}e-3")


@pytest.mark.parametrize(
    "text",
    [
        "1,5 m",
        "1 500 m",
        "1.500,2 m",
        "1_000 m",
        "9**9**7 m",
        "0x10 m",
        "１２ m",  # full-width digits
        "1.5.2 m",
        ".5 m",
        "5. m",
        "nan m",
        "inf m",
        "1e999 m",
        "m",
        "",
        "--5 m",
        "5 m m",
        "5 metres",
        "5 M",
    ],
)
def test_doubtful_number_is_refused(text: str) -> None:
    with pytest.raises(UnitProblem):
        to_si(text, DIMENSIONS["length"])


@given(st.text(max_size=12))
def test_any_text_is_read_or_refused_in_words(text: str) -> None:
    with contextlib.suppress(UnitProblem):
        assert isfinite(to_si(text, DIMENSIONS["force"]))
