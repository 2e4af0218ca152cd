"""What is said to fail is what can: lines, anchors, devices and protection, no edge."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear.findings.failure import Cause, Failure, doubts_of
from edgewear.rigging.findings.failures import single_failures
from support import site

KINDS = ("anchor", "rope", "device", "edge", "protection", "deviation")


def row(kind: str, number: int) -> Failure:
    """A failure that leaves a doubt, like every other one of these."""
    name = f"{kind} {number}"
    called = f"working line at {name}" if kind == "edge" else name
    return Failure(name, kind, "working line", 1, "ann", 5.0, False, None, 1.0, 0.0, 1e3, True,
                   True, "the post bears less", called=called, cause=Cause.WEAK)  # fmt: skip


@given(st.lists(st.tuples(st.sampled_from(KINDS), st.integers(0, 3)), min_size=1))
def test_a_line_cut_at_an_edge_is_named_only_where_nothing_else_fails_so(given_rows) -> None:
    (doubt,) = doubts_of([row(*one) for one in given_rows])
    others = {f"{kind} {number}" for kind, number in given_rows if kind != "edge"}
    cut = {f"working line at edge {number}" for kind, number in given_rows if kind == "edge"}
    assert set(doubt.components) == (others or cut)
    assert len(doubt.components) == len(set(doubt.components))


@pytest.mark.parametrize("names", [("lip",), ("coping", "angle"), ("post", "rope", "device")])
@pytest.mark.parametrize("pad", [False, True])
@pytest.mark.parametrize("safe", [False, True])
def test_no_single_failure_is_called_by_an_edge(names, pad, safe) -> None:
    edges = {f"{name} edge": site.edge(0.4 * k, -1.0 * k * k) for k, name in enumerate(names)}
    protect = dict.fromkeys(edges, "pad") if pad else {}
    working = site.line("west bolt", protect=protect)
    other = site.line("east bolt", role="safety line", backup=site.backup()) if safe else None
    scenario = site.scenario(
        {"only": site.option(working, other, people={"lead": site.person()})},
        anchors={"west bolt": site.anchor(-3.0, 0.4), "east bolt": site.anchor(-3.0, 0.4, 1.0)},
        edges=edges,
        job={"lead": (site.cross(next(iter(edges))), site.descend(20.0))},
    )
    rows = single_failures(scenario, "only", "lead", {2: 15.0})
    assert {row.component for row in rows if row.kind == "edge"} == set(edges)
    assert not {row.called for row in rows} & set(edges)
    assert {row.called for row in rows if row.kind == "edge"} == {
        f"working line at {edge}" for edge in edges
    }
