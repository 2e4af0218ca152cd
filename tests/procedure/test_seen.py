"""Whoever is noticed on one line of a page is not seen by nobody on another."""

from __future__ import annotations

from functools import cache

import pytest

from edgewear.findings.fates import End
from edgewear.findings.procedure import Findings
from edgewear.procedure.faults import faults
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
