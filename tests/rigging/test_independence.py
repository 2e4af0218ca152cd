"""What two lines share is found, and counted where one failure takes both."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from edgewear.rigging import rig
from edgewear.rigging.findings.independence import Shared, _apart_m, _edge, independence_words
from support import site


def both(working, safety, **more):
    return rig(site.pier(working, safety, **more), "only")


def safe(anchor, **more):
    return site.line(anchor, role="safety line", **more)


def test_lines_far_apart_on_one_edge_are_said_and_not_counted():
    found = both(site.line("far bollards"), safe("parapet posts"))
    assert "not independent" not in found.status
    # posts 1.5 m aside and 3.0 m from the kerb: the lines cross it less than 1.5 m apart
    assert any("both lines of lead run over kerb, 1.3 m apart" in words for words in found.shared)


def test_lines_close_together_on_one_edge_are_not_independent():
    anchors = {**site.PIER, "parapet posts": site.anchor(-3.0, 1.0, along=0.3)}
    found = both(site.line("far bollards"), safe("parapet posts"), anchors=anchors)
    assert "not independent" in found.status


def test_one_anchor():
    found = both(site.line("far bollards"), safe("far bollards"))
    assert "not independent" in found.status
    assert "both lines of lead hang on far bollards" in found.shared


def test_a_deviation_is_an_anchor_too():
    anchors = {**site.PIER, "spike": site.anchor(1.0, -2.0)}
    turned = (site.deviation("spike"),)
    found = both(
        site.line("far bollards", deviations=turned),
        safe("parapet posts", deviations=turned),
        anchors=anchors,
    )
    assert "both lines of lead hang on spike" in found.shared


PIECES = [("pad", "structure", True), ("sleeve", "rope", False)]


@pytest.mark.parametrize(("kind", "fixed_to", "one"), PIECES)
def test_one_pad_under_both_lines(kind, fixed_to, one):
    piece = {"kerb": site.protection(kind, covers=3.0, fixed_to=fixed_to)}
    found = both(site.line("far bollards", protect=piece), safe("parapet posts", protect=piece))
    assert any(f"one {kind} at kerb" in words for words in found.shared) == one


def test_protection_that_is_said_to_be_shared():
    piece = {"kerb": site.protection("sleeve", fixed_to="rope")}
    safety = safe("parapet posts", protect=piece, shares_protection=True)
    found = both(site.line("far bollards", protect=piece), safety)
    assert "one sleeve at kerb lies under both lines of lead" in found.shared
    assert "not independent" in found.status


def test_a_kit_that_holds_one_piece():
    found = both(
        site.line("far bollards", protect={"kerb": "roller"}),
        safe("parapet posts", protect={"flange": "roller"}),
        kit={"roller": 1, "new": 1},
    )
    assert "the kit holds one roller for both lines of lead" in found.shared
    assert "one piece of new is both lines of lead" in found.shared


def test_one_piece_of_rope_as_both_lines_is_counted():
    lines = site.line("far bollards"), safe("parapet posts")
    assert "not independent" not in both(*lines, kit={"new": 2}).status
    assert "not independent" in both(*lines, kit={"new": 1}).status


def test_lines_an_unknown_distance_apart_are_counted_as_close_ones():
    found = [_edge("lead", "kerb", apart_m).counts for apart_m in (0.1, 0.29, 0.3, 9.0, None)]
    assert found == [True, True, False, False, True]  # less than 0.3 m apart


def test_one_attendant():
    found = both(site.line("far bollards", attendant="ann"), safe("parapet posts", attendant="ann"))
    assert "one attendant, ann, watches both lines of lead" in found.shared
    assert "not independent" in found.status
    for other in ("ben", None):  # two who watch one each, and nobody
        names = {"attendant": other}
        found = both(site.line("far bollards", **names), safe("parapet posts", attendant="ann"))
        assert "not independent" not in found.status
        assert not any("attendant" in words for words in found.shared)


def test_two_independent_lines_are_said_only_where_nothing_is_shared():
    assert independence_words([], 2) == "two independent lines"
    assert independence_words([], 1) == "one line"
    same = [Shared("lead", "edge", "kerb", "both lines of lead run over kerb, 4.0 m apart", False)]
    assert "independent" not in independence_words(same, 2)


def test_where_a_line_crosses_an_edge_twice_the_closest_crossings_count():
    there = [SimpleNamespace(crossing_m=(0.0, along, 0.0)) for along in (0.0, 5.0)]
    back = [SimpleNamespace(crossing_m=(0.0, 5.1, 0.0)), SimpleNamespace(crossing_m=None)]
    assert _apart_m(there, back) == pytest.approx(0.1)
    assert _apart_m(there, back[1:]) is None


@pytest.mark.parametrize("count", [0, 1, 2, 3])
def test_a_kit_with_a_piece_for_each_line_shares_none(count):
    found = both(
        site.line("far bollards", protect={"kerb": "roller"}),
        safe("parapet posts", protect={"flange": "roller"}),
        kit={"roller": count, "new": count},
    )
    few = count < 2  # the two lines need two of each
    assert ("the kit holds one roller for both lines of lead" in found.shared) == few
    assert ("one piece of new is both lines of lead" in found.shared) == few


@pytest.mark.parametrize("few", ["roller", "new", None])
def test_one_piece_where_two_are_needed_is_one_thing_that_can_fail_for_both(few):
    found = both(
        site.line("far bollards", protect={"kerb": "roller"}),
        safe("parapet posts", protect={"flange": "roller"}),
        kit={word: 1 if word == few else 2 for word in ("roller", "new")},
    )
    assert ("not independent" in found.status) == (few is not None)


def test_what_both_lines_share_is_said_by_person_and_edge_with_how_far_apart_they_are():
    same = [
        Shared("ann", "edge", "kerb", "", False, 4.0), Shared("bob", "edge", "lip", "", False, 0.5),
        Shared("ann", "anchor", "post", "both lines of ann hang on post", True),
        Shared("ann", "edge", "sill", "", False, 1.25),
    ]  # fmt: skip
    assert independence_words(same, 2) == (
        "two lines that share: both lines of ann run over kerb (4.0 m apart), sill (1.2 m apart); "
        "both lines of bob run over lip (0.5 m apart); both lines of ann hang on post"
    )
