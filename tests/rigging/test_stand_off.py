"""Where a person is assumed to hang, said where it decides which edges a line lies on."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear.findings.rigging import StandOff
from edgewear.rigging.findings.facts import facts
from edgewear.rigging.findings.remarks import stand_offs
from support import site


def rigged(nose_out, who="lead", **person):
    """A nose 9 m below a crest, and work 20 m below that."""
    working = site.line("post")
    safety = site.line("other", role="safety line")
    option = site.option(working, safety, who=who, people={who: site.person(**person)})
    return site.scenario(
        {"only": option},
        anchors={"post": site.anchor(-1.5, 0.3), "other": site.anchor(-1.5, 0.3, along=1.0)},
        edges={"crest": site.edge(0.0, 0.0), "nose": site.edge(nose_out, -9.0)},
        job={who: (site.cross("crest"), site.descend(20.0))},
    )


def said(nose_out, who="lead", **person):
    scenario = rigged(nose_out, who, **person)
    return [one.words for one in stand_offs(scenario, scenario.options["only"])]


@pytest.mark.parametrize("nose_out", [0.16, 0.17, 0.19])
def test_an_edge_that_comes_onto_the_line_nearer_in_is_told(nose_out):
    (words,) = said(nose_out)
    assert "lead hangs 0.3 m out from nose (assumed, 0.2 to 0.5 m)" in words
    assert "nearer within that range the working line and the safety line would come onto" in words
    assert "`people/lead/out`" in words


@pytest.mark.parametrize("nose_out", [0.24, 0.3, 0.33])
def test_an_edge_that_leaves_the_line_further_out_is_told(nose_out):
    (words,) = said(nose_out)
    assert "further out within that range the working line and the safety line would leave" in words


@pytest.mark.parametrize("nose_out", [-0.5, 0.05, 1.5, 3.0])
def test_nothing_is_told_where_the_range_decides_nothing(nose_out):
    assert said(nose_out) == []


@pytest.mark.parametrize("nose_out", [0.16, 0.2, 0.3])
def test_nothing_is_assumed_of_whoever_has_a_place(nose_out):
    assert said(nose_out, out=site.exact(nose_out)) == []


@given(nose_out=st.floats(0.05, 0.6), who=st.sampled_from(["lead", "mason", "the second"]))
def test_results_have_in_mind_once_what_the_check_says_of_it(nose_out, who):
    scenario = rigged(nose_out, who)
    minded = [one.words for one in facts(scenario, "only").mind if isinstance(one, StandOff)]
    assert minded == said(nose_out, who)
    assert len(minded) <= 1
