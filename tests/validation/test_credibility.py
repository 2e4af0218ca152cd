"""What we know and how: every number is there, every piece of evidence exists."""

from __future__ import annotations

import importlib.util
from pathlib import Path

import pytest
import yaml

from edgewear.scenario.read.libraries import FOLDER
from edgewear.validation.credibility.factors import FACTORS, lowest
from edgewear.validation.credibility.numbers import numbers
from support.tree import ROOT

MAKER = ROOT / "docs" / "reference" / "make_what_we_know.py"


def test_the_page_is_what_the_maker_writes() -> None:
    """Where this fails: `python docs/reference/make_what_we_know.py`."""
    spec = importlib.util.spec_from_file_location("make_what_we_know", MAKER)
    assert spec is not None
    assert spec.loader is not None
    maker = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(maker)
    assert MAKER.with_name("what-we-know.md").read_text() == maker.written()


def counted(found: object) -> int:
    """Entries with a value in a file of the library, counted by another reader of YAML."""
    if not isinstance(found, dict):
        return 0
    return 1 if "value" in found else sum(map(counted, found.values()))


def test_every_number_of_the_library_is_there() -> None:
    there = sum(counted(yaml.safe_load(path.read_text())) for path in FOLDER.glob("*.yaml"))
    assert len(list(numbers())) == there


def test_every_number_says_where_it_is_from() -> None:
    assert [one.address for one in numbers() if not one.pedigree] == []


@pytest.mark.parametrize("factor", FACTORS, ids=lambda factor: factor.name)
def test_evidence_can_be_looked_at(factor) -> None:  # type: ignore[no-untyped-def]
    assert all((ROOT / Path(where)).exists() for _, where in factor.evidence if where)
    assert factor.missing
    if factor.level > 0:
        assert any(where for _, where in factor.evidence)


def test_the_eight_are_eight_and_the_weakest_counts() -> None:
    assert len({factor.name for factor in FACTORS}) == 8
    assert all(0 <= factor.level <= 4 for factor in FACTORS)
    assert lowest() == min(factor.level for factor in FACTORS)
