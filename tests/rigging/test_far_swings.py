"""How far a catch takes a safety line along an edge: a remark says the most, faults each place."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from edgewear.findings.limits import OffProtection
from edgewear.findings.rigging import OffInCatch
from edgewear.rigging.findings.every_step import failures_at_every_step
from edgewear.rigging.findings.facts import facts
from edgewear.rigging.rig import Layout
from edgewear.scenario import load_text

SITE = """\
edgewear: 1
title: A safety line from aside, over two edges
setting: industrial
target: 60 %
anchors:
  west: {{out: -3 m, along: 0 m, up: 0.4 m, kind: pair}}
  east: {{out: -{behind} m, along: {aside} m, up: 0.4 m, kind: pair}}
edges:
  lip: {{out: 0 m, up: 0 m, radius: 6 mm, surface: steel}}
  nose: {{out: {out} m, up: -{under} m, radius: 6 mm, surface: steel}}
ropes: {{red: {{like: low-stretch 11, length: 100 m, stopper: yes}}}}
people: {{ann: {{mass: {mass} kg, start: {start} m}}}}
all options: {{rope: red, protect: {{lip: pad, nose: pad}}}}
options: {{only: {{anchor: west, safety line: {{anchor: east, protect: {{lip: pad, nose: pad}}}}}}}}
job: [{{descend: {down} m}}, {{work: {{for: 60 s}}}}]
"""


def tenths(low: float, high: float):
    return st.integers(round(10 * low), round(10 * high)).map(lambda k: k / 10)


SITES = st.fixed_dictionaries({
    "behind": tenths(0.5, 15), "aside": tenths(0.3, 4), "out": tenths(0.1, 0.8),
    "under": tenths(0.5, 6), "mass": st.sampled_from([60, 95, 140]), "start": tenths(1, 5),
    "down": tenths(1, 30),
})  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(SITES, st.floats(0.0, 1.5))
def test_no_place_of_a_run_takes_it_further_than_results_remark(site, sunk_m) -> None:
    """Of whoever hangs as planned, or lower on a rope that stretches."""
    scenario = load_text(SITE.format(**site), "made.yaml")
    ends = Layout(scenario, scenario.options["only"], ["ann"]).profiles["ann"].ends
    depths = {"ann": {end.step: (end.depth_m + sunk_m,) for end in ends}}
    rows = failures_at_every_step(scenario, "only", depths)
    told = [one for row in rows for one in row.beyond if isinstance(one, OffProtection)]
    found = facts(scenario, "only", depths)
    minded = [one for one in found.mind if isinstance(one, OffInCatch)]
    assert all(one.remark in found.warnings for one in minded)
    most = {
        edge: float(said.split(" m along ")[0])
        for one in minded
        for edge, said in zip(one.edges, one.travels, strict=True)
    }
    for travel in (travel for one in told for travel in one.travels):
        # the remark is told in tenths of a metre; sums of a few metres
        assert travel.travel_m <= most[travel.edge] + 0.05 + 1e-9


@settings(max_examples=20, deadline=None)
@given(SITES)
def test_the_remark_says_that_it_is_the_most(site) -> None:
    scenario = load_text(SITE.format(**site), "made.yaml")
    laid = Layout(scenario, scenario.options["only"], ["ann"])
    for one in laid.off_in_catch:
        assert one.remark.partition(": ")[2].startswith(
            f"a catch would swing it along the edge and off its protection, up to {one.travels[0]}"
        )
