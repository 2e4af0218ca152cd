"""Dragging spots of a survey by legs, and edges between two points: one moves, the others stay."""

from __future__ import annotations

import random

import pytest

from edgewear.board.drawn import drawn
from edgewear.board.editing.changes import Shift, changed
from edgewear.board.editing.splice import spliced
from edgewear.board.editing.tied import leg
from edgewear.errors import UsageError
from edgewear.scenario import load_text
from edgewear.scenario.text.tree import parse_tree

TEXT = """\
edgewear: 1
title: a survey by legs   # paced on a wet day
setting: test
anchors:
  tree:
    legs:
      - taped 4 m back, 1.1 m up, over the parapet
      - 30 cm out, 60 cm down, over ledge
      - 2 m out, paced 12 m down
  bolt: {legs: ["paced 7 m back, 2 m left, 1 m up, over parapet"]}
  post: {out: -5 m, along: 1 m, up: 1 m}
edges:
  parapet: {radius: 5 mm, surface: steel}   # the corner
  ledge: {radius: 5 mm, surface: steel}
  arris: {from: {out: 0.2 m, along: -3 m, up: -4 m}, to: {out: 0.6 m, along: 3 m, up: -4.5 m},
          radius: 5 mm, surface: steel}
ropes: {blue: {like: low-stretch 11, length: 60 m}}
people: {hand: {mass: 80 kg}}
options: {only: {anchor: tree, rope: blue}, other: {anchor: post, rope: blue}}
job: [descend: 4 m]
"""


def places(text: str) -> dict[tuple[str, str], list[float]]:
    """Where everything lies, seen from the spot that legs are laid out from."""
    scenario = load_text(text, "legs.yaml")
    found = {}
    for section in ("anchors", "edges"):
        for name, one in getattr(scenario, section).items():
            ends = (one,) if one.out is not None else (one.from_, one.to)
            axes = [[getattr(end, axis) for end in ends] for axis in ("out", "along", "up")]
            at = [[0.0 if m is None else m.value for m in axis] for axis in axes]
            found[section, name] = [sum(axis) / len(axis) for axis in at]
    return found


def shifted(text: str, section: str, name: str, **by: float) -> str:
    data = parse_tree(text, "legs.yaml").data
    change = Shift(do="shift", section=section, name=name, **by)
    return spliced(text, changed(data, [change]))


SPOTS = [("anchors", "tree"), ("anchors", "bolt"), ("edges", "ledge"), ("edges", "arris"),
         ("anchors", "post")]  # fmt: skip


@pytest.mark.parametrize("seed", range(12))
def test_what_is_dragged_moves_so_far_and_everything_else_stays(seed: int) -> None:
    dice, text = random.Random(seed), TEXT
    for _ in range(6):
        section, name = dice.choice(SPOTS)
        by = {axis: round(dice.uniform(-1.5, 1.5), 2) for axis in ("out", "along", "up")}
        before = places(text)
        text = shifted(text, section, name, **by)
        for spot, now in places(text).items():
            moved = [a - b for a, b in zip(now, before[spot], strict=True)]
            due = list(by.values()) if spot == (section, name) else [0.0] * 3
            assert moved == pytest.approx(due, abs=0.0021)  # typed to the millimetre, leg by leg
    assert "# paced on a wet day" in text
    assert "# the corner" in text


def test_the_spot_that_legs_are_laid_out_from_is_where_it_is() -> None:
    """What is typed by coordinates is seen from it: it cannot be dragged, and has no handle."""
    with pytest.raises(UsageError, match="no place of its own"):
        shifted(TEXT, "edges", "parapet", out=0.5)
    tied = TEXT.replace("  parapet: {radius", "  parapet: {out: 1 m, up: 2 m, radius")
    before, after = places(tied), places(shifted(tied, "edges", "parapet", out=0.5))
    moved = {spot for spot in before if after[spot] != pytest.approx(before[spot], abs=0.0021)}
    # coordinates typed for a spot of legs carry the others along
    assert moved == {("edges", "parapet"), ("edges", "ledge"), ("anchors", "tree"),
                     ("anchors", "bolt")}  # fmt: skip


@pytest.mark.parametrize(
    ("before", "by", "after"),
    [
        ("taped 4 m back, 1.1 m up, over the parapet", (1.0, 0.0, 0.0),
         "taped 5 m back, 1.1 m up, over the parapet"),
        ("paced 8 m back, over kerb", (0.0, 1.0, 0.0), "paced 8 m back, 1 m left, over kerb"),
        ("30 cm out, 60 cm down, over ledge", (0.1, 0.0, 0.9),
         "40 cm out, 30 cm up, over ledge"),
        ("2 m out", (-2.5, 0.0, 0.0), "0.5 m in"),
    ],
)  # fmt: skip
def test_a_leg_is_typed_anew_in_its_own_words(before: str, by, after: str) -> None:
    assert leg(before, by) == after


def test_no_leg_leads_backwards_over_the_edge_it_is_measured_from() -> None:
    with pytest.raises(UsageError, match="cannot be dragged past"):
        leg("4 m back, 1 m up, over kerb", (-4.5, 0.0, 0.0))


def test_every_spot_has_a_handle_that_says_how_it_is_typed() -> None:
    scenario = load_text(TEXT, "legs.yaml")
    data = parse_tree(TEXT, "legs.yaml").data
    found = drawn(scenario, "only", data).document["pictures"]
    handles = {(h["section"], h["name"]): h for picture in found for h in picture["handles"]}
    assert handles["anchors", "tree"]["said"].endswith("by legs")
    assert handles["anchors", "tree"]["by"]
    assert handles["edges", "ledge"]["by"]
    other = drawn(scenario, "other", data).document["pictures"]
    handles = {(h["section"], h["name"]): h for picture in other for h in picture["handles"]}
    assert "between two points" in handles["edges", "arris"]["said"]
    assert handles["edges", "arris"]["far"] == []
    assert not handles["anchors", "post"]["by"]
