"""What options are placed and looked at by: who is not caught, marks, and what wears first."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from edgewear.dataset.ranking.edge_summaries import _mark_stop
from edgewear.dataset.ranking.inspection_plan import _soonest
from edgewear.findings.standing import UNCAUGHT
from edgewear.terms import CUTTING, MEETS, NO_ROOM, NOT_ACCEPTABLE
from support.rankings import option


@pytest.mark.parametrize("group", [(MEETS,), (), (NOT_ACCEPTABLE,), (CUTTING,)])
@pytest.mark.parametrize("ways", [(), UNCAUGHT[:1], UNCAUGHT])
def test_who_is_not_caught_counts_among_those_that_meet_the_target_alone(group, ways) -> None:
    found = option("it", status=(*group, *ways)).uncaught
    surely = len(UNCAUGHT) * (NO_ROOM in ways)
    assert found == (len(ways) + surely if group == (MEETS,) else 0)


def test_a_mark_s_stop_is_told_of_the_middle_stroke_and_not_of_the_widest() -> None:
    travels = np.linspace(0.02, 0.03, 21)
    wild = np.where(np.arange(21) == 20, 5.0, 0.04)
    tame = np.full(21, 0.04)
    columns = {"mark_travel_p50_m": travels, "mark_travel_p95_m": tame}
    found = _mark_stop(columns)
    assert found is not None
    assert found == _mark_stop({**columns, "mark_travel_p95_m": wild})
    wider = _mark_stop({**columns, "mark_travel_p95_m": 2 * tame})
    assert wider is None or wider > found


def test_the_edge_that_has_worn_most_thirds_comes_first_and_of_equals_the_soonest() -> None:
    """Three thirds in 900 s before two in 20 s before one in 5 s before none."""
    times = [(5.0, None, None), (100.0, 500.0, 900.0), (None, None, None), (10.0, 20.0, None),
             (1.0, 2.0, 901.0), (6.0, None, None)]  # fmt: skip
    edges = [
        SimpleNamespace(worn_at=[SimpleNamespace(time_s=time_s) for time_s in one]) for one in times
    ]
    order = [times[edges.index(one)] for one in sorted(edges, key=_soonest)]
    assert order == [times[1], times[4], times[3], times[0], times[5], times[2]]
