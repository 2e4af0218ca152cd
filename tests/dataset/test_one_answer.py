"""Figures of one edge, and of one option, that stand side by side do not contradict each other."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear.dataset.ranking.edge_summaries import _travel
from edgewear.dataset.ranking.model import Quantiles, sheath_left
from edgewear.dataset.ranking.part import Part
from edgewear.dataset.ranking.parts import parts_of
from edgewear.dataset.ranking.why import loaded, middle_edge, why_of, worst_edge
from edgewear.report.parts.decided import decided
from edgewear.report.parts.option_details import details
from edgewear.terms import WORKING
from support import rankings

DEMANDS = st.floats(0.001, 8.0)
SHARES = st.floats(0.0, 1.0)


@given(st.lists(st.tuples(DEMANDS, DEMANDS, SHARES, SHARES), min_size=2, max_size=5))
def test_no_edge_that_comes_next_is_told_to_take_more_than_the_one_that_wears_most(
    figures: list[tuple[float, float, float, float]],
) -> None:
    """Whatever the trials say of which edge was the worst how often."""
    edges = tuple(
        rankings.edge(f"edge {k}", demand_careful=careful, demand_max=middle,
                      worst_share_careful=at_end, worst_share=share)
        for k, (careful, middle, at_end, share) in enumerate(figures)
    )  # fmt: skip
    option = replace(rankings.ordinary().options[0], edges=edges)
    assert worst_edge(loaded(option)).demand_careful == max(e.demand_careful for e in edges)
    assert middle_edge(loaded(option)).demand_max == max(e.demand_max for e in edges)
    assert why_of(option).startswith(f"{worst_edge(edges).edge} ")


@pytest.mark.parametrize("target", [0.3, 0.5, 0.55, 0.6, 0.9])
@given(st.floats(-0.99, 0.9))
def test_what_is_short_and_what_is_left_make_up_the_target(target: float, left: float) -> None:
    """The margin is told rounded down, so what it lacks is rounded up: together the target."""
    ranking = rankings.ordinary()
    poor = replace(ranking.options[0], status=("misses target",),
                   margin=Quantiles(left, 0.9, 0.95))  # fmt: skip
    made = replace(ranking, options=(poor,), target=target)
    said = decided(made, poor)
    short = target - left
    if short <= 0:
        assert "short" not in said
        return
    lacks = int(said.split(" point")[0])
    shown = int(sheath_left(left).removesuffix(" %"))
    # 1e-7 points: how doubles keep shares, which neither figure turns into a whole point
    assert lacks >= short * 100 - 1e-7
    if math.isclose(left * 100, round(left * 100), abs_tol=1e-7):
        assert abs(lacks + shown - round(target * 100)) <= 1
    else:
        assert lacks + shown == round(target * 100)
    assert f"{lacks} point{'' if lacks == 1 else 's'} short" in said


@pytest.mark.parametrize("slip_m", [0.05, 4.0, 300.0])
@pytest.mark.parametrize("strokes", [0, 1, 40])
@pytest.mark.parametrize(("middle", "most"), [(0.0, 0.0), (0.0, 0.015), (0.02, 0.03)])
def test_a_strokes_travel_is_that_of_strokes_whatever_slides_in_all(
    slip_m: float, strokes: int, middle: float, most: float
) -> None:
    columns = {
        "mark_travel_p50_m": np.full(3, middle), "mark_travel_p95_m": np.full(3, most),
        "slip_m": np.full(3, slip_m),
    }  # fmt: skip
    assert _travel(columns, float(strokes)) == (middle if strokes and most else None)


@pytest.mark.parametrize("travel", [None, 0.0, 0.02])
@pytest.mark.parametrize("stuck", [None, 0.7])
def test_what_is_not_known_of_strokes_is_left_out(
    travel: float | None, stuck: float | None
) -> None:
    lip = rankings.edge("lip", travel_per_stroke_m=travel, stuck_share=stuck, slip_m=1.5,
                        mark_travel_m=Quantiles(None, None, None))  # fmt: skip
    option = replace(rankings.ordinary().options[0], edges=(lip,), why="")
    (said,) = [text for word, text in details(option) if word.startswith("lip, ")]
    assert "–" not in said
    assert "slides 1.5 m in all" in said
    assert ("a stroke" in said) == (travel is not None)
    assert ("of the strokes" in said) == (stuck is not None)
    why = why_of(option)
    assert ("each stroke drags" in why) == bool(travel)
    assert ("lies still there in most strokes" in why) == (travel == 0.0)


def covers(*pieces: tuple[str, str]) -> tuple[Part, ...]:
    """Parts of an option with some pieces of protection (name, line)."""
    runs = {"run": np.arange(2), "status": np.array(["meets target"] * 2)}
    names = ("line", "edge", "cover_energy_j", "cover_slip_m", "bypassed_demand", "peak_tension_n")
    edges = {"run": np.zeros(0, dtype=int), **{name: np.zeros(0) for name in names}}
    told = [{"line": line, "edge": name, "name": name, "energy_j": 1.0, "slip_m": None}
            for name, line in pieces]  # fmt: skip
    return parts_of(runs, edges, {"covers_hold": told, "bears": (), "slings": ()})


@pytest.mark.parametrize("lines", [("a",), ("a", "b"), ("a", "b", "c")])
def test_a_part_names_its_line_where_another_line_has_one_of_its_name(
    lines: tuple[str, ...],
) -> None:
    found = covers(*(("pad at lip", line) for line in lines), ("pad at kerb", "a"))
    said = [part.words for part in found]
    assert len(set(said)) == len(said)
    assert sum("pad at kerb of" in one for one in said) == 0
    for line in lines:
        assert any(f"pad at lip of {line}:" in one for one in said) == (len(lines) > 1)
    assert WORKING not in said
