"""A working line that swings along an edge beyond its protection is told so, and only then."""

from __future__ import annotations

from functools import cache
from itertools import product
from math import hypot

import pytest

from edgewear.rigging import facts, rig
from edgewear.scenario import load_text
from edgewear.terms import BARE, CUTTING, NOT_ACCEPTABLE

LENGTHS = {"pad": 0.6, "edge plate": 0.3, "roller": 0.1, "sleeve": 0.7}
"""How much of an edge each covers [m]: `covers` of the library."""

PIECES = (*LENGTHS, "{is: sleeve, fixed to: rope}", "{is: pad, covers: 2 m}", "none")
CASES = tuple(product(PIECES, (0.1, 0.4, 1.0, 2.5), (1.0, 4.0, 15.0)))
"""Protection, how far somebody swings to one side [m], how far back the anchor is [m]."""

DOWN_M = 10.0


@cache
def swings(piece: str, by: float, back: float, radius: float = 12, shared: bool = False):
    """`shared`: both lines bear, and the piece lies under the safety line."""
    other = "{is: sleeve, fixed to: rope}"
    working, safety = (other, piece) if shared else (piece, other)
    both = "both lines loaded: yes" if shared else "both lines loaded: no"
    return load_text(f"""
edgewear: 1
title: swings
setting: industrial
target: 60 %
anchors:
  a: {{out: -{back} m, up: 0 m}}
  b: {{out: -{back} m, along: 0.6 m, up: 0 m}}
edges: {{lip: {{out: 0 m, up: 0 m, radius: {radius} mm, surface: steel}}}}
ropes: {{store: {{like: low-stretch 11, length: 60 m, stopper: yes}}}}
people: {{ann: {{mass: 90 kg, start: {DOWN_M} m, out: 0.3 m}}}}
all options: {{rope: store}}
options:
  only:
    anchor: a
    protect: {{lip: {working}}}
    {both}
    safety line: {{anchor: b, rope: store, protect: {{lip: {safety}}}}}
job: [swing: {{by: {by} m, times: 3}}]
""", "swings")  # fmt: skip


@cache
def told(piece: str, by: float, back: float):
    scenario = swings(piece, by, back)
    said = [text for text in rig(scenario, "only").warnings if "further along" in text]
    mind = [one.words for one in facts(scenario, "only").mind if "further along" in one.words]
    return said, mind


def covered_m(piece: str) -> float:
    """How much of the edge a piece keeps the line off, wherever the line goes [m]."""
    return LENGTHS.get(piece, 2.0 if "covers" in piece else float("inf"))


def travel_m(by: float, back: float) -> float:
    """Unfolded over the edge the line is straight: it crosses in the share that lies above [m]."""
    return 2.0 * by * back / (back + hypot(0.3, DOWN_M))


@pytest.mark.parametrize(("piece", "by", "back"), CASES)
def test_it_is_told_where_the_way_is_longer_than_the_piece(piece, by, back) -> None:
    said, mind = told(piece, by, back)
    beyond = travel_m(by, back) > covered_m(piece)
    assert len(said) == int(beyond)
    assert mind == said
    for text in said:
        assert f"{travel_m(by, back):.2f} m along lip" in text
        assert "working line: in work" in text


@pytest.mark.parametrize("shared", [False, True])
@pytest.mark.parametrize("radius", [2, 12, 60])
@pytest.mark.parametrize(("piece", "by", "back"), CASES)
def test_beside_its_piece_an_edge_is_bare(piece, by, back, radius, shared) -> None:
    """And cuts, below 3 mm, whoever goes further along it than their rope is thick (11 mm)."""
    found = rig(swings(piece, by, back, radius, shared), "only")
    bare = piece == "none" or travel_m(by, back) > covered_m(piece)
    assert (found.edge_levels["lip"] == BARE) == bare
    assert (NOT_ACCEPTABLE in found.status) == (bare and radius < 44)
    assert (CUTTING in found.status) == (bare and radius < 3 and travel_m(by, back) > 0.011)


def test_no_case_is_so_near_the_end_of_its_piece_that_rounding_decides() -> None:
    found = [travel_m(by, back) / covered_m(piece) for piece, by, back in CASES]
    assert min(abs(one - 1.0) for one in found) > 0.005
    assert {one > 1.0 for one in found} == {True, False}
