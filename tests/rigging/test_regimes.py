"""Tables of contact sets against laying the line anew at every depth, and closed forms."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from edgewear.rigging import rig
from edgewear.rigging.laying import lay
from support import site
from twins.regimes import BEND_RAD, LENGTH_M, in_space, pieces


def section_of(working, **more):
    """The first section, its load plumb: the face of the pier has no part in what is asked here."""
    found = rig(site.pier(working, **more), "only").sections[0]
    led = any(item.kind != "edge" for item in found.edges)
    return found if led else replace(found, track_m=(), face_m=())


def value(piece, depth):
    fall = depth - piece.low_m
    free = np.array(piece.free_m) + fall * np.array(piece.free_slope)
    return free, np.array(piece.bend_rad) + fall * np.array(piece.bend_slope)


def check(section, top, bottom):
    table = pieces(section, top, bottom)
    assert table[0].low_m == top
    assert table[-1].high_m == pytest.approx(bottom, abs=1e-6)
    for before, after in pairwise(table):
        assert after.low_m == before.high_m
        end, start = value(before, before.high_m)[0].sum(), sum(after.free_m)
        assert end == pytest.approx(start, abs=1e-5)  # the set changes within 1e-6 m
    for depth in np.random.default_rng(5).uniform(top, bottom, 60):
        piece = next(p for p in table if depth <= p.high_m)
        laid = lay(section, depth)
        if piece.edges != laid.edges:  # within 1e-6 m of where the set changes
            assert min(abs(depth - piece.low_m), abs(depth - piece.high_m)) < 2e-6
            continue
        free, bends = value(piece, depth)
        # the middle of a piece is held to the tolerance; elsewhere a parabola is no further off
        assert free == pytest.approx(laid.free_m, abs=1.5 * LENGTH_M)
        assert bends == pytest.approx(laid.bends_rad, abs=1.5 * BEND_RAD)
    return table


def test_a_flat_line():
    section = section_of(site.line("far bollards"))
    table = check(section, 1.5, 21.0)
    sets = [p.edges for p in table]
    assert list(dict.fromkeys(sets)) == [(0,), (0, 1), (0, 1, 2)]
    assert not in_space(section)


def test_a_deviation():
    anchors = {**site.PIER, "spike": site.anchor(1.4, -6.0, along=0.6)}
    working = site.line("far bollards", deviations=(site.deviation("spike"),))
    section = section_of(working, anchors=anchors)
    assert in_space(section)
    table = check(section, 2.5, 20.5)
    kinds = {section.edges[k].kind for p in table for k in p.edges}
    assert kinds == {"edge", "deviation"}
    # far below, the load hangs plumb under the ring
    laid = lay(section, 20.5)
    assert laid.points[-2][:2] == pytest.approx(section.load_at(20.5), abs=2e-3)


def test_edges_askew():
    edges = {
        **site.PIER_EDGES,
        "flange": site.edge(
            from_=site_point(0.1, -3.0, -1.2), to=site_point(0.5, 3.0, -0.8), radius=2e-3
        ),
    }
    anchors = {**site.PIER, "far bollards": site.anchor(-22.0, 0.3, along=6.0)}
    people = {"lead": site.person(along=site.exact(0.0))}
    only = site.option(site.line("far bollards"), people=people)
    scenario = site.pier(None, options={"only": only}, edges=edges, anchors=anchors)
    section = rig(scenario, "only").sections[0]
    assert in_space(section)
    check(section, 2.5, 20.5)


def site_point(out, along, up):
    from edgewear.scenario.models.gear import SurveyPoint

    return SurveyPoint.model_construct(
        out=site.exact(out), along=site.exact(along), up=site.exact(up)
    )


def test_a_line_from_one_side_is_the_flat_one_unrolled():
    # edges along the face: every length grows by sqrt(1 + (Y/P)^2), P the flat length, and
    # cos(bend) becomes cos^2(phi)*cos(flat bend) + sin^2(phi), tan(phi) = Y/P
    flat = section_of(site.line("far bollards"))
    aside = replace(flat, anchor_m=(-22.0, 9.0, 0.3))
    for depth in (3.0, 8.0, 20.0):
        plain, turned = lay(flat, depth), lay(aside, depth)
        assert turned.edges == plain.edges
        slope = 9.0 / plain.length_m
        grown = math.sqrt(1 + slope**2)
        # crossings are good to 1e-7 m
        assert turned.free_m == pytest.approx([f * grown for f in plain.free_m], abs=1e-6)
        cosine = 1 / grown
        bends = [math.acos(cosine**2 * math.cos(b) + 1 - cosine**2) for b in plain.bends_rad]
        assert turned.bends_rad == pytest.approx(bends, abs=1e-6)
    assert in_space(aside)
    assert not in_space(replace(flat, anchor_m=(-22.0, 1.0, 0.3)))


def test_given_bends_need_no_space():
    section = replace(section_of(site.line("far bollards")), direct=True)
    assert not in_space(section)


def test_an_empty_range_is_refused():
    with pytest.raises(ValueError, match="no depths"):
        pieces(section_of(site.line("far bollards")), 5.0, 5.0)
