"""Below a re-anchor nothing holds a person as far out as the edges above it: where that makes an
edge read as clear, it is said."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from edgewear.findings.rigging import HangsUnder
from edgewear.rigging.contacts import contacts
from edgewear.rigging.findings.facts import facts
from edgewear.rigging.findings.remarks import under_re_anchors
from edgewear.rigging.sections import cut
from support import site

STAND_OFF_M = 0.3
"""Of a body from the outermost edge, as the rigging page says."""
SURE_M = 0.05
"""So near to where a rope just touches, its stretch or the edge's radius decides."""
WORK_M = 25.0
DEEPEST_M = 1.5 + WORK_M
"""Whoever has crossed an edge hangs 1.5 m below it, as the rigging page says."""


def rigged(cornice_m, bolt_m, sill_m, bolt_depth_m=4.0, sill_depth_m=9.0, **person):
    """A cornice, a bolt behind it and a sill below the bolt; outs [m]."""
    working = site.line("post", re_anchor=("bolt",))
    safety = site.line("other", role="safety line")
    option = site.option(working, safety, who="lead", people={"lead": site.person(**person)})
    return site.scenario(
        {"only": option},
        anchors={
            "post": site.anchor(-1.5, 0.3),
            "other": site.anchor(-1.5, 0.3, along=1.0),
            "bolt": site.anchor(bolt_m, -bolt_depth_m),
        },
        edges={
            "cornice": site.edge(cornice_m, 0.0),
            "sill": site.edge(sill_m, -sill_depth_m),
        },
        job={"lead": (site.cross("cornice"), site.descend(WORK_M))},
    )


def said(scenario):
    return [
        one
        for one in under_re_anchors(scenario, scenario.options["only"])
        if any("working line" in words for words in one.onto)
    ]


def passes(bolt_m, hangs_m, bolt_depth_m, sill_depth_m):
    """How far out a straight line from the bolt to the load passes the sill [m]."""
    share = (sill_depth_m - bolt_depth_m) / (DEEPEST_M - bolt_depth_m)
    return bolt_m + (hangs_m - bolt_m) * share


@given(
    cornice_m=st.floats(0.3, 2.5), bolt_m=st.floats(0.0, 1.0), sill_m=st.floats(0.0, 1.5),
    bolt_depth_m=st.floats(2.0, 6.0), further_m=st.floats(2.0, 12.0),
)  # fmt: skip
def test_an_edge_that_reads_as_clear_is_told(cornice_m, bolt_m, sill_m, bolt_depth_m, further_m):
    assume(cornice_m < bolt_m + bolt_depth_m)  # else a line from the bolt comes to it, too
    sill_depth_m = bolt_depth_m + further_m
    held_m, usual_m = max(bolt_m, sill_m + STAND_OFF_M), max(cornice_m, sill_m) + STAND_OFF_M
    usual_m = max(usual_m, bolt_m)
    where = [passes(bolt_m, out_m, bolt_depth_m, sill_depth_m) for out_m in (held_m, usual_m)]
    assume(all(abs(passed_m - sill_m) > SURE_M for passed_m in where))
    assume(abs(held_m - usual_m) > SURE_M or held_m == usual_m)
    scenario = rigged(cornice_m, bolt_m, sill_m, bolt_depth_m, sill_depth_m)
    expected = held_m < usual_m and where[0] < sill_m < where[1]
    assert bool(said(scenario)) == expected


def test_it_names_who_where_and_which_line():
    (one,) = said(rigged(0.9, 0.15, 0.35))
    assert one.words.startswith(
        "lead is taken to hang 1.2 m out below bolt too, where nothing holds"
    )
    assert (
        "further out than 0.65 m; there the working line below bolt would lie on sill" in one.words
    )
    assert "type it as `people/lead/out`" in one.words


@pytest.mark.parametrize("out_m", [0.2, 0.65, 1.2])
def test_nothing_is_told_of_whoever_has_a_place(out_m):
    assert said(rigged(0.9, 0.15, 0.35, out=site.exact(out_m))) == []


def test_whoever_hangs_as_far_out_as_is_held_has_the_edge_counted():
    scenario = rigged(0.9, 0.15, 0.35, out=site.exact(0.65))
    option = scenario.options["only"]
    sections, depths = cut(scenario, option, "lead")
    met = contacts(scenario, option, sections, depths)
    assert ("working line below bolt", "sill") in [(sections[c.section].line, c.edge) for c in met]


def test_results_have_in_mind_what_the_check_says():
    scenario = rigged(0.9, 0.15, 0.35)
    minded = [one for one in facts(scenario, "only").mind if isinstance(one, HangsUnder)]
    assert minded == list(under_re_anchors(scenario, scenario.options["only"]))
