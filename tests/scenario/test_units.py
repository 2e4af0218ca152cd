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

from edgewear import incoming
from edgewear.scenario.text import grid
from edgewear.scenario.text.quantities import Quantity
from edgewear.scenario.text.quantity_text import QuantityProblem, read_quantity
from edgewear.scenario.text.units import DIMENSIONS, UnitProblem, to_si
from support.scenario_files import ROOT

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


# What the reference page promises.


@cache
def page() -> list[list[str]]:
    """Rows of the tables of the page about scenarios."""
    lines = (ROOT / "docs" / "reference" / "scenario.md").read_text("utf-8").splitlines()
    return [[cell.strip() for cell in one.strip("|").split("|")] for one in lines if "|" in one]


@pytest.mark.parametrize("name", DIMENSIONS)
def test_a_quantity_is_as_large_and_as_small_as_the_page_says(name: str) -> None:
    [row] = [one for one in page() if one[0] == name and len(one) == 4]
    most, least = (float(cell.split()[0]) if cell else 0.0 for cell in row[2:])
    due = Quantity(name)

    def read(size: float) -> float:
        return read_quantity(size, due, {}).value

    for size in (most, -most, least, -least, 0.0):
        assert read(size) == size
    with pytest.raises(QuantityProblem, match=f"is too large: a {name} is at most"):
        read(most * 1.001)
    if least:
        with pytest.raises(QuantityProblem, match=f"is too small: a {name} is 0, or at least"):
            read(least * 0.999)
        with pytest.raises(QuantityProblem, match="too small"):
            read(-least * 0.999)
    else:
        assert read(1e-300) == 1e-300


def test_a_file_may_have_what_the_page_says() -> None:
    said = {row[0]: int(row[1].replace(",", "")) for row in page() if len(row) == 2
            and row[1].replace(",", "").isdigit()}  # fmt: skip
    held = {f"bytes of a {kind.what}": kind.most_bytes for kind in incoming.KINDS} | {
        "levels of a YAML file": incoming.MOST_DEPTH,
        "values of a YAML file": incoming.MOST_VALUES,
        "characters of a value or a cell": incoming.MOST_TEXT,
        "characters of a key": incoming.MOST_KEY,
        "columns of a table": incoming.MOST_COLUMNS,
        "cells of a table": incoming.MOST_CELLS,
        "bytes of a parquet table, unpacked": incoming.MOST_UNPACKED,
        "values of all axes of a grid together": grid.MAX_POINTS,
    }
    assert {key: said[key] for key in held} == held
