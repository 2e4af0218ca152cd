"""The kernels' contact sets in space against the plain ones."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from edgewear.layout import EDGE, LINE
from edgewear.mechanics.contacts import contacts_in_space
from edgewear.rigging import rig
from edgewear.rigging.model import EdgeOnLine
from support import site
from support.section_records import records
from twins.regimes import in_space, pieces

SPIKES = {
    **site.PIER,
    "spike": site.anchor(1.4, -6.0, along=0.6),
    "hook": site.anchor(1.8, -11.0, along=-0.9),
    "frame": site.anchor(-0.2, 1.6, along=0.3),
}


def section_of(working):
    return rig(site.pier(working, anchors=SPIKES), "only").sections[0]


STEPPED = section_of(site.line("far bollards"))
FLAT = replace(STEPPED, track_m=(), face_m=())
TURNED = section_of(
    site.line("far bollards", deviations=(site.deviation("spike"), site.deviation("hook", 0.1)))
)
FRAMED = section_of(site.line("far bollards", high_directional="frame"))
ASIDE = replace(FLAT, anchor_m=(-6.0, 5.0, 0.3))


def askew(seed):
    """The pier's edges tilted at random, within the width of the site."""
    rng = np.random.default_rng(seed)
    edges = []
    for item in FLAT.edges:
        tilt = rng.uniform(-0.01, 0.01, 2)
        lean = np.array([10 * tilt[0], 0.0, 10 * tilt[1]])
        start, end = np.add(item.start_m, lean), np.subtract(item.end_m, lean)
        edges.append(replace(item, start_m=tuple(start), end_m=tuple(end)))
    anchor = (-rng.uniform(1, 20), rng.uniform(-5, 5), rng.uniform(-0.5, 1.5))
    return replace(FLAT, edges=tuple(edges), anchor_m=anchor)


SITES = [FLAT, STEPPED, TURNED, FRAMED, ASIDE, *(askew(seed) for seed in range(8))]


@pytest.mark.parametrize("section", SITES)
def test_pieces_are_those_of_the_plain_twin(section):
    line, edges = records(section)
    # wide tolerances: the plain twin takes half a millisecond for each depth
    plain = pieces(section, 1.5, 30.0, 2e-3, 1e-2)
    table = contacts_in_space.table(line, edges, 1.5, 30.0, 2e-3, 1e-2)
    assert len(table) == len(plain)
    for row, piece in zip(table, plain, strict=True):
        count = len(piece.edges)
        assert row["count"] == count
        assert tuple(row["edge"][:count]) == piece.edges
        # crossings and rings settle to 1e-11 m; a set's end is found within 1e-6 m by the same
        # halving, so the same numbers come out
        assert row["low_m"] == pytest.approx(piece.low_m, abs=1e-9)
        assert row["free_m"][: count + 1] == pytest.approx(piece.free_m, abs=1e-9)
        assert row["bend_rad"][:count] == pytest.approx(piece.bend_rad, abs=1e-9)
        # slopes divide by the length of a piece
        error = 4e-9 / (piece.high_m - piece.low_m)
        assert row["free_slope"][: count + 1] == pytest.approx(piece.free_slope, abs=error)


@pytest.mark.parametrize("section", SITES)
def test_the_rule_for_space_is_the_plain_twins(section):
    assert contacts_in_space.in_space(*records(section)) == in_space(section)


def test_a_flat_line_is_routed_in_space_as_in_the_plane():
    from edgewear.mechanics.contacts.contacts_in_plane import route

    line, edges = records(FLAT)
    flat, found = route(line, edges), contacts_in_space.route_in_space(line, edges)
    for depth in np.linspace(1.5, 40.0, 77):
        row = found[np.searchsorted(found["high_m"], depth)]
        fall, count = depth - row["low_m"], row["count"]
        free = (row["free_m"] + fall * row["free_slope"])[: count + 1]
        same = flat[np.searchsorted(flat["high_m"], depth)]
        assert tuple(row["edge"][:count]) == tuple(same["edge"][: same["count"]])
        last = np.hypot(same["out_m"], depth - same["point_depth_m"])
        # pieces are straight within 1e-4 m, and a parabola is nowhere further off
        assert free == pytest.approx([*same["free_m"][:count], last], abs=1.5e-4)


def test_a_table_has_no_gaps_and_no_ends():
    found = contacts_in_space.route_in_space(*records(TURNED))
    assert found[0]["low_m"] == -1e6
    assert found[-1]["high_m"] == 1e6
    for before, after in pairwise(found):
        assert after["low_m"] == before["high_m"]
        fall = before["high_m"] - before["low_m"]
        count = before["count"]
        end = (before["free_m"] + fall * before["free_slope"])[: count + 1].sum()
        start = after["free_m"][: after["count"] + 1].sum()
        # a set's end is found within 1e-6 m; the first piece comes back over 1e6 m, with rounding
        assert end == pytest.approx(start, abs=1e-5 if before["low_m"] > -1e6 else 1e-3)


def test_a_line_without_edges():
    line, edges = records(replace(FLAT, edges=()))
    row = contacts_in_space.route_in_space(line, edges)[0]
    assert row["count"] == 0
    assert len(edges) == 0
    assert EDGE.names[-2:] == ("led", "reach_m")
    # three points for each of four deviations below the forty of a face
    assert LINE["track_m"].shape == (52, 3)


def test_one_pulley_is_two_straight_pieces():
    pulley = EdgeOnLine("frame", (0.0, 0.0, 2.0), (0.0, 0.0, 2.0), None, 0, 0,
                        kind="high directional")  # fmt: skip
    section = replace(FLAT, edges=(pulley,), anchor_m=(-3.0, 4.0, 2.0), load_m=(0.0, 0.0))
    table = contacts_in_space.table(*records(section), 0.0, 10.0)
    assert table[0]["free_m"][:2] == pytest.approx((5.0, 2.0), abs=1e-12)
    assert table[0]["bend_rad"][0] == pytest.approx(np.pi / 2, abs=1e-12)
    assert len(table) == 1
