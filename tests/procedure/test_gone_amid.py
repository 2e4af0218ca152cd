"""A deviation or re-anchor that goes at any moment: the plan goes on from where the rope caught."""

from __future__ import annotations

from math import isfinite

import pytest

from edgewear.job.faults import Injected
from edgewear.job.log import Kind
from edgewear.layout import TICK_S
from edgewear.procedure.fault_runs import FaultRuns
from edgewear.procedure.faults import faults
from edgewear.scenario import load_text

SITE = """\
edgewear: 1
title: A point that goes
setting: alpine
target: 30 %
anchors:
  post: {{out: -1 m, along: 0 m, up: 1 m, kind: pair}}
  bolt: {{out: {out} m, along: {along} m, up: -4 m, kind: pair, is: bolt}}
edges: {{lip: {{out: 0 m, up: 0 m, radius: 30 mm, surface: steel}}}}
ropes: {{a: {{like: low-stretch 11, length: 60 m, stopper: yes}}}}
people: {{ann: {{mass: 95 kg, out: 0.5 m}}}}
lines: {{ann: {{anchor: post, rope: a, protect: {{lip: pad}}, {led}}}}}
options: {{one: {{}}}}
job: [cross edge: lip, descend: 12 m, work: {{for: 10 min}}, ascend: 6 m]
"""
LED = {
    "deviation fails": (0.6, 0.6, "deviations: [{anchor: bolt, sling: 0.4 m}]"),
    "anchor fails": (0.3, 0.0, "re-anchor: [bolt]"),
}
DEEP_M, END_M, WORK_S = 13.5, 7.5, 600.0
"""Where the plan works and ends by the survey, hanging on 1.5 m down, and for how long."""

SINKS_M = 1.5
"""Where somebody is caught 14 m down: a loop of 0.5 m, and twice the rope's 0.5 m of stretch."""


def text_of(kind: str, given: bool = True) -> str:
    out, along, led = LED[kind]
    whole = SITE.format(out=out, along=along, led=led)
    return whole + f"faults: {{goes: {{{kind}: bolt, at: 0 s}}}}\n" * given


def log_of(text: str, tick: int | None):
    scenario = load_text(text, "made.yaml")
    chosen = () if tick is None else (Injected("goes", scenario.faults["goes"], tick=tick),)
    runs = FaultRuns(text, "made.yaml", None, "one", 0, (chosen,), (1,))
    return runs.run_of(runs.nominal(chosen), chosen).log


def span(log, step: int) -> tuple[int, int]:
    mine = [e.tick for e in log if e.step == step and e.kind in (Kind.BEGINS, Kind.ENDS)]
    return mine[0], mine[-1]


@pytest.mark.parametrize("kind", LED)
@pytest.mark.parametrize("step", [1, 2, 3, 4])
@pytest.mark.parametrize("share", [0.0, 0.3, 0.6, 0.99])
def test_the_plan_is_made_to_its_end_from_where_somebody_is_caught(kind, step, share) -> None:
    """As deep, as high and as long as it asks for, whenever the point went."""
    text = text_of(kind)
    begins, ends = span(log_of(text, None), step)
    log = log_of(text, round(begins + share * (ends - begins)))
    assert not [e for e in log if e.kind in (Kind.STOPS, Kind.FALLS, Kind.LINE_LOST)]
    depths = {e.step: e.value for e in log if e.kind is Kind.ENDS and isfinite(e.value)}
    assert DEEP_M - 0.1 < depths[2] < DEEP_M + SINKS_M  # 0.1: what a descent is short of its stops
    assert END_M - 0.1 < depths[4] < END_M + 2 * SINKS_M
    begins, ends = span(log, 3)
    assert (ends - begins) * TICK_S > WORK_S - 1e-3  # ticks


@pytest.mark.parametrize("kind", LED)
@pytest.mark.parametrize("tick", [0, 1, 2, 5000])
def test_a_point_that_goes_as_somebody_hangs_on_leaves_them_on_what_is_left(kind, tick) -> None:
    """At the very tick too, at which a fault without a trigger happens."""
    log = log_of(text_of(kind), tick)
    ended = [e.step for e in log if e.kind is Kind.ENDS]
    assert [step for step in ended if step] == sorted(ended)
    assert max(ended) == 4


@pytest.mark.parametrize("kind", LED)
def test_a_procedure_with_such_a_point_is_taken_apart_whole(kind, tmp_path) -> None:
    """Faults that nobody typed have no trigger: they happen as the first person hangs on."""
    file = tmp_path / "made.yaml"
    file.write_text(text_of(kind, given=False), "utf-8")
    found = faults(file, replicates=2, workers=1)
    assert any("bolt" in name for one in found.fates for name in one.names)
