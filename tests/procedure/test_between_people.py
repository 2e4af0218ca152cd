"""Lines of two people: near each other on an edge, on one anchor, or crossing."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from edgewear.findings.between import Sharing
from edgewear.procedure.between_people import _crossings, between_people
from edgewear.scenario import load_text
from support.planted.sound import text_of

PLACES = {"west": 0.0, "mid west": 0.8, "mid east": 1.6, "east": 2.4}
"""Where the sound procedure has its anchors along the edge [m]: two for each person."""


def kinds(change):
    scenario = load_text(text_of("pick-off", change), "made.yaml")
    return {one.kind for one in between_people(scenario, "as written")}


def test_the_sound_procedure_shares_nothing_between_people() -> None:
    assert kinds({}) == set()


@pytest.mark.parametrize("along_m", [-1.0, 0.1, 0.25, 0.3, 0.35, 0.6, 0.95, 1.3])
def test_a_straight_line_is_near_another_where_their_anchors_are(along_m) -> None:
    """Everybody hangs plumb below their working line, which so runs square over the edge."""
    change = {"anchors/mid west/along": "-2 m", "anchors/mid east/along": f"{along_m} m"}
    near = abs(along_m - PLACES["west"]) < 0.3  # m, of the working lines
    assert (Sharing.PLACE in kinds(change)) == near


def test_what_lies_there_is_told_of_the_edge_itself() -> None:
    """The pad at the lip lies below one line, the roller further down below the other."""
    change = {
        "edges/ledge": {"out": "0.5 m", "up": "-1 m", "radius": "60 mm", "surface": "steel"},
        "lines/rescuer/protect": {"ledge": "roller"},
        "anchors/mid west/along": "-2 m", "anchors/mid east/along": "0.1 m",
    }  # fmt: skip
    scenario = load_text(text_of("pick-off", change), "made.yaml")
    shared = [one for one in between_people(scenario, "as written") if one.kind is Sharing.PLACE]
    assert {one.where: one.protection for one in shared} == {"lip": "pad", "ledge": "roller"}


def test_one_anchor_of_two_people_is_told() -> None:
    assert Sharing.ANCHOR in kinds({"lines/rescuer/anchor": "mid west"})


ABOVE, BELOW = "between the anchors and lip", "between lip and the people"


@pytest.mark.parametrize(
    ("rescuer_m", "where"),
    [(3.0, ABOVE), (0.5, BELOW), (0.03, BELOW), (0.01, None), (-1.0, None), (-5.0, None)],
)
def test_whoever_hangs_on_the_other_side_of_their_anchor_crosses(rescuer_m, where) -> None:
    """From 3 m west of a line that hangs plumb: at the lip, 4.1 m of rope from the anchor and at
    most 3.1 m from the person, they are more than half and less than three quarters across. Nearer
    above each other than 2 cm they have no side."""
    change = {"anchors/mid east/along": "-3 m", "anchors/east/along": "-4 m",
              "people/rescuer/along": f"{rescuer_m} m"}  # fmt: skip
    scenario = load_text(text_of("pick-off", change), "made.yaml")
    working = ("technician working line", "rescuer working line")
    found = [
        one.where for one in between_people(scenario, "as written")
        if one.kind is Sharing.CROSSING and one.lines == working
    ]  # fmt: skip
    assert found == ([where] if where else [])


@pytest.mark.parametrize("both", [True, False])
def test_an_edge_that_one_of_them_is_clear_of_tells_no_side(both: bool) -> None:
    """Their sides are compared where both lie, and where they begin and end."""
    first = SimpleNamespace(anchor_m=(0.0, 0.0, 0.0), load_m=(0.0, 0.0))
    second = SimpleNamespace(anchor_m=(0.0, 1.0, 0.0), load_m=(0.0, -1.0))
    over = {"lip": (0.0, 0.0, 0.0), "ledge": (0.0, 0.0, -3.0)}
    other = {"lip": (0.0, 0.5, 0.0), **({"ledge": (0.0, -0.5, -3.0)} if both else {})}
    below = "ledge" if both else "the people"
    assert list(_crossings(first, second, over, other)) == [f"between lip and {below}"]
    assert list(_crossings(second, first, other, over)) == [f"between lip and {below}"]
