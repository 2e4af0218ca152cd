"""What the rigging says of an option: loads joined by fixed point, directions, drop, rope."""

from __future__ import annotations

import math

import pytest

from edgewear.report.formats.document import Fold, Paragraph, Table, plain
from edgewear.report.parts import rigged_words
from support import rankings


def test_the_loads_of_one_fixed_point_stand_in_one_row() -> None:
    rows = rigged_words.by_anchor(rankings.facts()["loads"])
    assert [row["name"] for row in rows] == ["far bollards", "parapet posts"]
    assert rows[0]["cases"] == {"rescue": 1942.0, "in work": 1442.0}
    assert rows[0]["fixing_n"] == 971.0
    assert rows[1]["cases"] == {"rescue": 1942.0, "catch": 3110.0}
    assert rows[1]["fixing_n"] == 1555.0


def test_a_case_that_does_not_occur_is_a_dash() -> None:
    table = rigged_words.loads(rankings.facts()["loads"])
    shown = [[plain(cell.run) for cell in row] for row in table.rows]
    assert shown[0][2:5] == ["1.4 kN", "1.9 kN", "–"]
    assert shown[1][2:5] == ["–", "1.9 kN", "3.1 kN"]


@pytest.mark.parametrize(
    ("vector", "said"),
    [
        ((1.0, 0.0, 0.0), "out, level"),
        ((-1.0, 0.0, 0.0), "back, level"),
        ((0.0, 1.0, 0.0), "along the face, level"),
        ((0.0, 0.0, -1.0), "straight down"),
        ((0.0, 0.0, 1.0), "straight up"),
        ((math.cos(0.5), 0.0, -math.sin(0.5)), "out, 29° below level"),  # 0.5 rad is 28.6 degrees
        ((-math.cos(0.5), 0.0, math.sin(0.5)), "back, 29° above level"),
        ((0.0, 0.0, 0.0), "–"),
        (None, "–"),
    ],
)
def test_directions_read_as_on_site(vector: tuple[float, float, float] | None, said: str) -> None:
    assert rigged_words.direction(vector) == said


def test_a_drop_into_something_says_so() -> None:
    row = rankings.facts()["transfers"][0]
    assert "0.7 m too little room above water" in rigged_words.transfer(row)
    assert "1.5 m clear of water" in rigged_words.transfer(row | {"clearance_m": {"water": 1.5}})
    assert "over no edge" in rigged_words.transfer(row | {"over": []})


def test_a_missing_stopper_is_said() -> None:
    row = rankings.facts()["ropes"][0]
    assert rigged_words.rope(row).endswith("stopper knot")
    assert rigged_words.rope(row | {"stopper": False}).endswith("no stopper knot")


def test_what_the_rigging_does_not_say_is_left_out() -> None:
    assert rigged_words.blocks({}) == []
    (fold,) = rigged_words.blocks(rankings.facts())
    assert isinstance(fold, Fold)
    assert fold.printed
    said = fold.blocks
    assert isinstance(said[0], Table)
    titles = [plain(block.run).split(":")[0] for block in said if isinstance(block, Paragraph)]
    assert titles == ["Between the lines", "If the working line is lost", "Rope"]
