"""Whoever is noticed on one line of a page is not seen by nobody on another."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear.findings.fates import End
from edgewear.findings.procedure import Findings
from edgewear.job.faults import Injected
from edgewear.job.log import Entry, Kind
from edgewear.procedure.faults import faults
from edgewear.procedure.rescue_ways.run import Run
from edgewear.procedure.seeing import seen_in
from edgewear.report.procedure.words import cost
from edgewear.scenario import load_text
from support.procedures import usable

SITE = """\
edgewear: 1
title: Two people side by side
setting: industrial
target: 30 %
anchors:
  a: {{out: -2 m, along: 0 m, up: 1 m, kind: pair, releasable: yes}}
  b: {{out: -2 m, along: 1 m, up: 1 m, kind: pair, releasable: yes}}
  c: {{out: -2 m, along: 3 m, up: 1 m, kind: pair, releasable: yes}}
  d: {{out: -2 m, along: 4 m, up: 1 m, kind: pair, releasable: yes}}
edges: {{lip: {{out: 0 m, up: 0 m, radius: 30 mm, surface: steel}}}}
ropes: {{r: {{like: low-stretch 11, length: 60 m, stopper: yes}}}}
people: {{ann: {{mass: 95 kg}}, bo: {{mass: 80 kg}}}}
kit: {{pad: 4, rescue sling: {{carried by: bo}}}}
lines:
  ann:
    {{anchor: a, rope: r, protect: {{lip: pad}}{watched},
     safety line: {{anchor: b, rope: r, protect: {{lip: pad}}}}}}
  bo:
    {{anchor: c, rope: r, protect: {{lip: pad}},
     safety line: {{anchor: d, rope: r, protect: {{lip: pad}}}}}}
options: {{one: {{why not higher: {{soft: no time}}}}}}
job:
  ann: [descend: 6 m, work: 20 min, ascend: 6 m]
  bo: [rest: 40 min]
when: {{parted: {{do: call rescue}}}}
faults:
  it: {{{fault}, at: 8 min}}
  silence: {{fault: communication lost, at: 2 min}}
below: {{ground: -25 m}}
"""

HANGING = ("device jammed: ann", "device dropped: ann", "casualty unresponsive: ann",
           "anchor fails: a")  # fmt: skip
A_WHILE = ("device jammed: ann, for: 4 min", "device dropped: ann, for: 9 min")


@cache
def found(fault: str, watched: bool) -> Findings:
    attendant = ", attendant: edge attendant" * watched
    text = SITE.format(fault=fault, watched=attendant)
    return faults(load_text(text, "made.yaml"), replicates=2, workers=1)


@pytest.mark.parametrize("watched", [True, False])
@pytest.mark.parametrize("fault", HANGING)
def test_the_column_seen_agrees_with_who_notices_them(fault: str, watched: bool) -> None:
    """With the silence too: then somebody at the edge notices, or nobody does."""
    rows = {row.names: row for row in found(fault, watched).faults}
    alone = [one for one in found(fault, watched).fates if not one.step]
    for one in alone:
        hung = [fate for fate in one.people if fate.end is End.HANGS and one.came]
        for fate in hung:
            noticed = fate.rescue is not None
            assert (rows[one.names].seen_by is not None) == noticed
            assert rows[one.names].seen_share == float(noticed)
            assert (one.seen_by is not None) == noticed
            if fate.rescue is not None:
                assert one.seen_by == fate.rescue.noticed_by
        assert bool(hung) == ("it" in one.names)


@pytest.mark.parametrize("watched", [True, False])
@pytest.mark.parametrize("fault", A_WHILE)
def test_whoever_is_kept_still_for_a_while_knows_of_it(fault: str, watched: bool) -> None:
    one = found(fault, watched)
    row = next(row for row in one.faults if row.names == ("it",))
    assert str(row.seen_by).startswith("ann, step 2")
    assert row.seen_share == 1.0
    silent = next(row for row in one.faults if row.names == ("silence",))
    assert silent.seen_by is None  # nothing has happened that anybody could see


@pytest.mark.parametrize("number", range(12))
def test_no_procedure_has_somebody_noticed_whom_nobody_sees(number: int) -> None:
    whole = faults(usable(number), replicates=1, workers=1)
    for one in whole.fates:
        if one.came and any(fate.rescue and not fate.as_without for fate in one.people):
            assert one.seen_by is not None, one.names


FIRST = ("device jammed: ann, for: 2 min", "device dropped: ann, for: 1 min",
         "protection displaced: lip")  # fmt: skip
"""Somebody sees them soon, or knows of them: there is an attendant at the edge."""

UNSEEN = ("fault: communication lost", "weather: wet", "jerky person: ann")
"""Nobody sees them."""


@cache
def of_two(first: str, second: str) -> Findings:
    text = SITE.format(fault=first, watched=", attendant: edge attendant")
    text = text.replace("fault: communication lost, at: 2 min", f"{second}, at: 25 min")
    return faults(load_text(text, "made.yaml"), replicates=2, workers=1)


@pytest.mark.parametrize(("first", "second"), [*product(FIRST, UNSEEN)])
def test_what_is_seen_of_the_first_of_two_counts_though_the_second_comes_later(first, second):
    """The second comes 17 minutes after the first, when looks are a minute apart in the middle."""
    rows = {row.names: row for row in of_two(first, second).faults}
    alone, unseen, both = rows[("it",)], rows[("silence",)], rows["it", "silence"]
    assert (alone.seen_share, unseen.seen_by, both.trials) == (1.0, None, 2)
    assert both.seen_by is not None
    assert (both.seen_share, both.seen_after_share) == (1.0, 0.0)
    assert "nobody would see that one" in cost(both)
    assert "nobody would see it" in cost(unseen)
    assert "nobody" not in cost(alone).rpartition("seen by")[2]


def entries(who, details):
    made = st.builds(
        Entry, st.integers(0, 30), st.sampled_from(who), st.just(Kind.SEES), st.just(1),
        st.sampled_from(details),
    )  # fmt: skip
    return st.lists(made, max_size=6)


def in_turn(some: list[Entry]) -> tuple[Entry, ...]:
    return tuple(sorted(some, key=lambda one: one.tick))


LOOKS = entries(("ann", "bo"), ("sheath worn at lip", "core visible at lip"))


@given(LOOKS, LOOKS, st.integers(0, 30), st.integers(0, 30))
def test_a_sight_counts_from_the_first_fault_on_and_not_where_it_comes_as_soon_without(
    here: list[Entry], there: list[Entry], one: int, other: int
) -> None:
    scenario = load_text(SITE.format(fault="weather: wet", watched=""), "made.yaml")
    injected = tuple(Injected(name, scenario.faults[name]) for name in ("it", "silence"))
    came = [Entry(one, "it", Kind.FAULT), Entry(other, "silence", Kind.FAULT)]
    plan = Run(scenario, "one", (), in_turn(there))
    run = replace(plan, log=in_turn([*here, *came]), faults=injected)
    due = [
        (look.tick, look.who)
        for look in here
        if look.tick >= min(one, other)
        and not any(
            usual.tick <= look.tick and (usual.who, usual.detail) == (look.who, look.detail)
            for usual in there
        )
    ]
    assert sorted(seen_in(run, plan)) == sorted(due)
