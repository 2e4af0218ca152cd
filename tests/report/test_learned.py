"""What tests taught, on a terminal: it fits, and says first what stands in the way."""

from __future__ import annotations

from io import StringIO

import pytest

from edgewear.cautions import PROJECTION
from edgewear.findings.learning import learned as findings
from edgewear.findings.learning.learned import HeldOut, Interval, Learned, Number, Standing
from edgewear.report import print_learned


def learned(standing: Standing, early: float = 0.4, ropes: int = 14) -> Learned:
    number = Number(
        "ropes/a rope with a rather long name of its own/sheath/toughness", "1", "lognormal",
        Interval(1.0, 0.1, 10.0), Interval(1.2, 0.9, 1.5), 0.1, 1.01, 0.04, True,
    )  # fmt: skip
    tested = findings.Tested("third ascent, wet", 31, "core visible", early, 0.7, early >= 0.01)
    return Learned(
        title="tower", file="tests.yaml", sha256="0123456789abcdef" * 4, tests=14, ropes=ropes,
        law="weighted", model=2, particles=256, passes=3, seed=0, powers=5, effective=128.0,
        distinct=1.0, numbers=(number,), correlation={}, tested=(tested,), standing=standing,
        rivals=(HeldOut("energy", 2, 4, -6.1, 0.2),),
    )  # fmt: skip


def printed(found: Learned, width: int = 80) -> str:
    stream = StringIO()
    print_learned(found, "results/learned", stream, width)
    return stream.getvalue()


@pytest.mark.parametrize("standing", Standing)
@pytest.mark.parametrize("width", [40, 80])
def test_every_standing_fits_and_is_a_projection(standing: Standing, width: int) -> None:
    text = printed(learned(standing), width)
    assert max(map(len, text.splitlines())) <= width
    assert " ".join(text.split()).count(PROJECTION) == 1
    assert ("No library was written" in " ".join(text.split())) == (not learned(standing).usable)


def test_an_odd_test_is_named_with_its_line_and_chance() -> None:
    text = " ".join(printed(learned(Standing.CONTRADICTED, 0.0004)).split())
    assert "ODD: third ascent, wet (line 31): core visible so early or small" in text
    assert "below 0.001" in text


def test_the_pedigree_is_that_of_the_library() -> None:
    found = learned(Standing.LEARNED)
    assert found.pedigree == "calibrated: 14 tests, tests.yaml, sha256 0123456789ab"
    assert found.as_json()["pedigree"] == found.pedigree


def test_what_is_provisional_says_so_wherever_it_goes() -> None:
    found = learned(Standing.PROVISIONAL)
    assert found.pedigree.startswith("provisional: 14 tests, ")
    assert "PROVISIONAL" in printed(found)
    assert found.as_json()["standing"] == "provisional"


@pytest.mark.parametrize(
    ("ropes", "said"),
    [(14, "14 tests"), (15, "14 tests of 15 ropes"), (40, "14 tests of 40 ropes")],
)
def test_tests_and_ropes_are_counted_apart(ropes: int, said: str) -> None:
    found = learned(Standing.LEARNED, ropes=ropes)
    text = " ".join(printed(found).split())
    assert f"learned from {said} " in text
    assert f": {said}, tests.yaml" in found.pedigree
    assert "of 2 tests of 4 ropes held out" in text
    assert (found.as_json()["tests"], found.as_json()["ropes"]) == (14, ropes)
