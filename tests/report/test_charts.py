"""Charts: scales, ticks, curves with gaps, the step that wears most."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear.dataset.ranking.model import Quantiles
from edgewear.report.drawings import charts, margins, svg, timeline_chart, wear_chart
from edgewear.report.parts.sources import Curve, Happening
from edgewear.terms import MISSES
from support import rankings

SVG = "{http://www.w3.org/2000/svg}"
LINE = "lead's working line"


def polylines(picture: str, style: str) -> list[list[tuple[float, float]]]:
    """The curves of a picture drawn in a style."""
    found = []
    for one in ElementTree.fromstring(picture).iter(f"{SVG}polyline"):
        if one.get("class") == style:
            pairs = (point.split(",") for point in one.attrib["points"].split())
            found.append([(float(x), float(y)) for x, y in pairs])
    return found


@given(st.floats(-1e4, 1e4), st.floats(1e-3, 1e5), st.integers(2, 8))
def test_ticks_are_inside_round_and_few(low: float, wide: float, most: int) -> None:
    found = charts.ticks(low, low + wide, most)
    assert len(found) <= most + 1
    # 1e-6 of the width: what double precision leaves of steps near 1e4
    assert all(low - 1e-6 * wide <= value <= low + wide + 1e-6 * wide for value in found)


def timeline(times: list[float], slips: list[float]) -> Curve:
    """A line whose tension swings between 0.5 and 1.5 kN."""
    tension = [500.0 + 1000.0 * (index % 2) for index in range(len(times))]
    columns = {"time_s": times, "tension_n": tension, "slip_m": slips, "demand": slips}
    return Curve(LINE, columns)


def drawn(curves: list[Curve]) -> str:
    """The job over time."""
    of = rankings.ordinary()
    return timeline_chart.draw(of, of.options[0].name, curves, (), "t")


def bands(picture: str) -> list[dict[str, str]]:
    """Where a motion repeats."""
    rects = ElementTree.fromstring(picture).iter(f"{SVG}rect")
    return [rect.attrib for rect in rects if rect.get("class") == "repeat"]


def test_a_stretch_without_samples_is_a_band_as_wide_as_the_swing_before_it() -> None:
    times = [*map(float, range(60)), *map(float, range(600, 660))]
    picture = drawn([timeline(times, [t / 100 for t in times])])
    (band,) = bands(picture)
    tension = [points for points in polylines(picture, "working thin") if points[0][1] < 100]
    assert len(tension) == 2
    ys = [y for _, y in tension[0]]
    # coordinates have two digits
    assert float(band["y"]) == pytest.approx(min(ys), abs=0.02)
    assert float(band["height"]) == pytest.approx(max(ys) - min(ys), abs=0.02)
    assert float(band["x"]) == pytest.approx(tension[0][-1][0], abs=0.02)


def test_a_line_that_rests_while_another_is_used_has_no_band() -> None:
    first = [*map(float, range(60)), *map(float, range(600, 660))]
    second = [float(time) for time in range(61, 600)]
    used = timeline(first, [0.0] * len(first))
    other = replace(timeline(second, [0.0] * len(second)), line="lower section")
    assert bands(drawn([used, other])) == []


def happening(step: int, time: float, name: str) -> Happening:
    """A step that begins."""
    return Happening(time, "lead", "begins", step, name, float("nan"))


def wear(most: float) -> str:
    """Wear along the rope with a peak so high."""
    of = rankings.ordinary()
    along = [20 + 0.05 * index for index in range(100)]
    demand = [most if index == 50 else 0.0 for index in range(100)]
    curve = Curve(LINE, {"along_m": along, "demand": demand})
    return wear_chart.draw(of, of.options[0].name, [curve], "w")


@pytest.mark.parametrize("most", [0.003, 0.39, 0.41, 0.99, 1.8])
def test_the_level_of_the_core_is_shown_or_said_to_lie_above(most: float) -> None:
    picture = wear(most)
    lines = [
        one for one in ElementTree.fromstring(picture).iter(f"{SVG}line")
        if one.get("class") == "target"
    ]  # fmt: skip
    (curve,) = polylines(picture, "working thin")
    top = min(y for _, y in curve)
    if most < 0.4:
        assert not lines
        assert "core shows at 100 %, above this scale" in picture
    else:
        assert (float(lines[0].attrib["y1"]) < top) == (most < 1)
    assert "22.5 m" in picture


@pytest.mark.parametrize(
    ("middle", "best", "told"),
    [
        (0.2, 0.6, ""),
        (-1.4, 0.6, "middle below this scale"),
        (-2.0, -1.2, "middle and good end below this scale"),
    ],
)
def test_what_lies_below_the_axis_is_marked_and_said(middle: float, best: float, told: str) -> None:
    poor = rankings.option("poor", status=(MISSES,), margin=Quantiles(-3.0, middle, best))
    picture = margins.draw(rankings.ranking(poor), "m")
    text = " ".join(" ".join(ElementTree.fromstring(picture).itertext()).split())
    assert picture.count('class="off"') == bool(told)
    assert picture.count('class="middle"') == (not told)
    assert "below this scale" not in text if not told else told in text


def test_the_margins_keep_their_order_and_their_ends() -> None:
    of = rankings.ordinary()
    root = ElementTree.fromstring(margins.draw(of, "m"))
    careful = [
        float(one.attrib["x1"]) for one in root.iter(f"{SVG}line") if one.get("class") == "careful"
    ]
    values = [option.margin.p5 for option in of.options if option.margin]
    by_value = sorted(range(len(values)), key=lambda place: values[place] or 0.0)
    assert by_value == sorted(range(len(careful)), key=lambda place: careful[place])
    assert len(careful) == 4


def test_a_margin_beyond_the_picture_ends_in_an_arrow() -> None:
    far = rankings.option("far below", margin=Quantiles(-9.0, -2.0, 0.2))
    near = rankings.option("near", margin=Quantiles(-0.2, 0.1, 0.2))
    assert len(polylines(margins.draw(rankings.ranking(far), "m"), "rule")) == 1
    assert polylines(margins.draw(rankings.ranking(near), "m"), "rule") == []


def test_a_careful_end_that_is_not_known_ends_in_an_arrow_too() -> None:
    lost = rankings.option("lost", margin=Quantiles(None, 0.5, 0.8))
    picture = margins.draw(rankings.ranking(lost), "m")
    assert len(polylines(picture, "rule")) == 1
    assert not re.search(r"nan|inf", picture)


@pytest.mark.parametrize("worn", [(0.5, 0.5), (0.9, 0.5, 0.1), (0.2, 0.21, 0.2, 0.21, 0.19)])
def test_the_ropes_of_one_line_are_named_apart_and_no_name_covers_another(worn) -> None:
    of = rankings.ordinary()
    along = [20 + 0.05 * index for index in range(100)]
    curves = [
        Curve(
            LINE, {"along_m": along, "demand": [most * (k == 50) for k in range(100)]}, rope, True
        )
        for rope, most in enumerate(worn, 1)
    ]
    picture = wear_chart.draw(of, of.options[0].name, curves, "w")
    labels = {
        "".join(one.itertext()): float(one.attrib["y"])
        for one in ElementTree.fromstring(picture).iter(f"{SVG}text")
        if f"{LINE}, rope " in "".join(one.itertext())
    }
    assert list(labels) == [f"{LINE}, rope {n + 1}: 22.5 m" for n in range(len(worn))]
    heights = sorted(labels.values())
    assert all(b - a > svg.LINE_HEIGHT - 0.02 for a, b in pairwise(heights))  # two digits
    told = wear_chart.describe(curves)
    assert all(f"{LINE}, rope {n + 1}: most worn" in told for n in range(len(worn)))
