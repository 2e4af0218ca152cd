"""Lines given by bends beside lines that have places: no picture shows what nobody knows."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from edgewear.board.drawn import drawn as on_board
from edgewear.findings.plain import plain
from edgewear.report.drawings import elevation, scene
from edgewear.report.drawings.view import LARGE
from edgewear.report.parts import options
from edgewear.rigging import problems
from edgewear.rigging.findings.facts import facts
from edgewear.scenario import load_text
from support import rankings

SITE = """edgewear: 1
title: made
setting: industrial
anchors:
  west: {{out: -3 m, up: 1 m}}
  east: {{out: -3 m, along: 2 m, up: 1 m}}
edges:
  lip: {{{place}is: chamfered concrete}}
  sill: {{is: chamfered concrete}}
ropes:
  store: {{like: low-stretch 11, length: 90 m, stopper: yes}}
people:
  ann: {{mass: 90 kg, start: {start} m}}
  bob: {{mass: 80 kg, start: 3 m}}
kit: {{pad: 9}}
lines:
  ann: {{anchor: west, rope: store{0}, safety line: {{anchor: east{1}}}}}
  bob: {{anchor: east, rope: store{2}, safety line: {{anchor: west{3}}}}}
options: {{only: {{}}}}
job:
  ann: [{{descend: 6 m}}]
  bob: [{{descend: {down} m}}]
"""

BENDS = st.lists(
    st.tuples(st.sampled_from(["lip", "sill"]), st.integers(5, 90), st.integers(5, 60)),
    min_size=1, max_size=2, unique_by=lambda one: one[0],
)  # fmt: skip


def over(bends: list[tuple[str, int, int]] | None) -> str:
    """A line's bends as typed; None: it is laid out by places."""
    if bends is None:
        return ""
    each = [f"{{edge: {e}, after: {m / 10} m, bend: {deg} deg}}" for e, m, deg in bends]
    return f", over: [{', '.join(each)}]"


def drawing_of(dice: st.DataObject) -> tuple[object, dict[str, object], list[bool]]:
    """A scenario some of whose lines are given by bends, its drawing, and which lines are."""
    lines = [dice.draw(st.none() | BENDS) for _ in range(4)]
    text = SITE.format(
        *map(over, lines),
        place="out: 0 m, up: 0 m, " if dice.draw(st.booleans()) else "",
        start=dice.draw(st.integers(2, 9)), down=dice.draw(st.integers(1, 30)),
    )  # fmt: skip
    scenario = load_text(text, "site.yaml")
    assert problems(scenario) == []
    told = plain(facts(scenario, "only"))
    return scenario, told, [line is not None for line in lines]


@settings(deadline=None)
@given(st.data())
def test_each_line_is_in_one_picture_that_shows_what_is_known_of_it(dice: st.DataObject) -> None:
    _, told, by_bends = drawing_of(dice)
    side, beside = scene.read(told["drawing"]), scene.apart(told["drawing"])
    shown = [side, *([] if beside is None else [beside])]
    names = [course.name for one in shown for course in one.courses]
    assert sorted(names) == sorted(line["name"] for line in told["drawing"]["lines"])
    unrolled = {course.name for one in shown if one.unrolled for course in one.courses}
    lines = ("ann working line", "ann safety line", "bob working line", "bob safety line")
    assert unrolled == {name for name, bent in zip(lines, by_bends, strict=True) if bent}
    paths = {line["name"]: line["path"] for line in told["drawing"]["lines"]}
    for one in shown:
        known = {stop.name for course in one.courses for stop in course.stops}
        for course in one.courses:
            for (before, stop), typed in zip(
                pairwise(course.stops), paths[course.name][1:], strict=True
            ):
                apart_m = math.dist(before.at, stop.at)
                if one.unrolled:  # rounded to a picometre, sums of at most 150 m
                    assert apart_m == pytest.approx(typed["after_m"], abs=1e-9)
                else:
                    assert 0.0 < apart_m <= typed["after_m"] + 1e-9  # seen from the side
                    assert stop.at == (typed["at"][0], typed["at"][2])
        if not all(by_bends):
            assert {mark.name for mark in one.marks} - known <= {"lip", "east", "west"}
        words = elevation.describe(one)
        assert ("m out" in words) != one.unrolled
        people = {course.person for course in one.courses}
        picture = elevation.whole(one, "a", "only", LARGE)
        assert all(f">{who}<" in picture for who in people)


@settings(deadline=None, max_examples=30)  # a page's part each
@given(st.data())
def test_what_is_laid_out_from_bends_is_never_said_to_be_seen_from_the_side(
    dice: st.DataObject,
) -> None:
    scenario, told, by_bends = drawing_of(dice)
    option = rankings.option("only", facts=told)
    (pair,) = options._drawings(option, "a")
    notes = [note for figure in pair.figures for note in figure.caption]
    assert any("to scale" in n and "From the side" in n for n in notes) == (not all(by_bends))
    assert sum(options.UNROLLED in n for n in notes) == any(by_bends)
    assert ("whose places are known" in notes[0]) == (any(by_bends) and not all(by_bends))
    board = on_board(scenario, "only", {"anchors": {}, "edges": {}}).document["pictures"]
    assert ("lengths" in [one["kind"] for one in board]) == (any(by_bends) and not all(by_bends))
    held = {one["name"] for picture in board for one in picture["handles"]}
    works = {who for who, bent in (("ann", by_bends[0]), ("bob", by_bends[2])) if not bent}
    assert held <= works


@settings(deadline=None)
@given(st.data())
def test_a_line_that_no_place_leads_over_an_edge_says_what_it_counts_as_clear_of(
    dice: st.DataObject,
) -> None:
    scenario, told, by_bends = drawing_of(dice)
    named = {b.edge for p in scenario.options["only"].lines.values()
             for line in (p.working, p.safety) for b in line.over}  # fmt: skip
    without = {name for name in named if scenario.edges[name].out is None}
    lines = ("ann working line", "ann safety line", "bob working line", "bob safety line")
    due = {name for name, bent in zip(lines, by_bends, strict=True) if not bent and without}
    said = [one for one in told["mind"] if "computed as clear of" in one]
    assert {one.partition(":")[0] for one in said} == due
    assert all(edge in one for one in said for edge in without)
    assert set(said) <= set(told["warnings"])
