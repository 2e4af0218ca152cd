"""Drawings are to scale, tell working from safety line, and keep their words apart."""

from __future__ import annotations

import math
import re
from typing import Any
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear.report.drawings import elevation, labels, scene, view
from support import rankings

SVG = "{http://www.w3.org/2000/svg}"


def legs(picture: str) -> list[dict[str, str]]:
    """The straight pieces of rope in a picture."""
    root = ElementTree.fromstring(picture)
    return [one.attrib for one in root.iter(f"{SVG}line") if "data-to" in one.attrib]


def drawn_length(leg: dict[str, str]) -> float:
    """Length of a piece in drawing units."""
    ends = [float(leg[key]) for key in ("x1", "y1", "x2", "y2")]
    return math.dist(ends[:2], ends[2:])


def surveyed(drawing: dict[str, Any]) -> dict[tuple[str, str], float]:
    """Length of each leg in the plane of the drawing, from the survey itself [m]."""
    found = {}
    for line in drawing["lines"]:
        for start, end in zip(line["path"], line["path"][1:], strict=False):
            (x0, _, z0), (x1, _, z1) = start["at"], end["at"]
            found[start["name"], end["name"]] = math.hypot(x1 - x0, z1 - z0)
    return found


def test_lengths_are_proportional_to_the_survey() -> None:
    drawing = rankings.drawing()
    lengths = surveyed(drawing)
    picture = elevation.whole(scene.read(drawing), "a", "padded")
    scale = float(re.search(r'data-units-per-m="([\d.]+)"', picture).group(1))  # type: ignore[union-attr]
    found = legs(picture)
    assert len(found) == 8
    for leg in found:
        length = lengths[leg["data-from"], leg["data-to"]]
        # 1 % is what the drawing promises; coordinates are rounded to 0.01 unit, 0.2 units a leg
        assert drawn_length(leg) == pytest.approx(length * scale, rel=0.01, abs=0.02)


def test_the_scale_bar_has_the_scale_of_the_linework() -> None:
    for draw in (elevation.whole, elevation.detail):
        picture = draw(scene.read(rankings.drawing()), "a", "padded")
        root = ElementTree.fromstring(picture)
        bar = next(one for one in root.iter(f"{SVG}line") if one.get("data-from") == "scale")
        length = float(bar.attrib["data-m"])
        assert f"{length:g} m" in "".join(root.itertext())
        for leg in legs(picture):
            ratio = drawn_length(leg) / float(leg["data-m"])
            assert ratio == pytest.approx(drawn_length(bar.attrib) / length, rel=0.01)


def drawn_length_of_all(picture: str, style: str) -> float:
    """Sum of the lengths drawn in a style."""
    return sum(drawn_length(leg) for leg in legs(picture) if leg["class"] == style)


def test_working_line_is_solid_and_safety_line_dashed() -> None:
    picture = elevation.whole(scene.read(rankings.drawing()), "a", "padded")
    assert drawn_length_of_all(picture, "working") > 0
    assert drawn_length_of_all(picture, "safety") > 0
    style = (elevation_style() or "").split(".safety", 1)
    assert "stroke-dasharray" not in style[0].split(".working", 1)[1]
    assert "stroke-dasharray" in style[1].split("}", 1)[0]


def elevation_style() -> str:
    """The style sheet of pictures."""
    from edgewear.report.formats.html import asset

    return asset("picture.css")


def test_every_anchor_and_edge_is_named_in_words() -> None:
    picture = elevation.whole(scene.read(rankings.drawing()), "a", "padded")
    said = " ".join(" ".join(ElementTree.fromstring(picture).itertext()).split())
    for name in ("parapet posts", "far bollards", "kerb", "flange", "ledge", "lead", "sleeve"):
        assert name in said


def test_the_detail_shows_only_what_is_near_the_edges() -> None:
    drawn = scene.read(rankings.drawing())
    assert elevation.has_detail(drawn)
    picture = elevation.detail(drawn, "a", "padded")
    named = {one.text for one in ElementTree.fromstring(picture).iter(f"{SVG}text")}
    assert "kerb" in named
    assert "far bollards" not in named
    whole = elevation.whole(drawn, "a", "padded")
    scale = re.compile(r'data-units-per-m="([\d.]+)"')
    near, far = (float(scale.search(text).group(1)) for text in (picture, whole))  # type: ignore[union-attr]
    assert near > 2 * far


def direct(lengths: list[float], bends: list[float]) -> dict[str, Any]:
    """A drawing given by lengths and bends."""
    kinds = ["anchor", *["edge"] * len(bends), "person"]
    path = [
        {"kind": kind, "name": f"{kind} {place}", "after_m": length, "bend_deg": bend}
        for place, (kind, length, bend) in enumerate(
            zip(kinds, [0.0, *lengths], [0.0, *bends, 0.0], strict=True)
        )
    ]
    line = {"name": "line", "role": "working line", "person": "p", "rope": "r", "path": path}
    return {"direct": True, "anchors": [], "edges": [], "lines": [line]}


@given(
    st.integers(0, 3).flatmap(
        lambda edges: st.tuples(
            st.lists(st.floats(0.5, 40), min_size=edges + 1, max_size=edges + 1),
            st.lists(st.floats(1, 80), min_size=edges, max_size=edges),
        )
    )
)
def test_unrolled_lines_keep_their_lengths_and_hang_straight_down(
    given_: tuple[list[float], list[float]],
) -> None:
    lengths, bends = given_
    drawn = scene.read(direct(lengths, bends))
    stops = [stop.at for stop in drawn.courses[0].stops]
    for before, after, length in zip(stops[:-1], stops[1:], lengths, strict=True):
        # double precision over sums of at most 160 m
        assert math.dist(before, after) == pytest.approx(length, rel=1e-9)
    assert stops[-1][0] == pytest.approx(stops[-2][0], abs=1e-6 * sum(lengths))
    assert stops[-1][1] < stops[-2][1]


@given(
    st.lists(st.tuples(st.floats(0, 300), st.floats(5, 60)), min_size=1, max_size=12),
    st.floats(0, 20),
)
def test_labels_never_cover_each_other(blocks: list[tuple[float, float]], top: float) -> None:
    blocks.sort()
    heights = [height for _, height in blocks]
    placed = labels.tops([middle for middle, _ in blocks], heights, top)
    # 1e-6 drawing units: rounding of sums below 1000
    assert placed[0] >= top - 1e-6
    for here, height, after in zip(placed, heights, placed[1:], strict=False):
        assert after >= here + height - 1e-6


def test_a_lone_label_stands_beside_its_point() -> None:
    assert labels.tops([100.0, 200.0], [10.0, 10.0], 0.0) == [95.0, 195.0]


@pytest.mark.parametrize("name", rankings.HOSTILE)
def test_hostile_names_leave_the_picture_well_formed(name: str) -> None:
    drawing = rankings.renamed(rankings.drawing(), name)
    root = ElementTree.fromstring(elevation.whole(scene.read(drawing), "a", name))
    width, height = (float(part) for part in root.attrib["viewBox"].split()[2:])
    assert not list(root.iter(f"{SVG}script"))
    for text in root.iter(f"{SVG}text"):
        assert 0 <= float(text.attrib["x"]) <= width
        last = [float(span.get("dy", 0)) for span in text.iter(f"{SVG}tspan")]
        top = float(text.attrib["y"])
        assert 0 <= top + sum(last) <= height


@given(st.floats(1e-3, 1e4))
def test_scale_bars_are_round_and_fit(length: float) -> None:
    bar = view.nice(length)
    assert bar <= length * (1 + 1e-9)
    assert bar > length / 2.51
    digits = f"{bar:.0e}"[0]
    assert digits in "125"


def elements(picture: str, style: str) -> list[dict[str, str]]:
    """Attributes of everything that is drawn in a style."""
    root = ElementTree.fromstring(picture)
    return [one.attrib for one in root.iter() if one.get("class") == style]


def covered(protection: str | None) -> dict[str, Any]:
    """A drawing whose edges are all covered alike, or none of them."""
    drawn = rankings.drawing()
    for line in drawn["lines"]:
        for stop in line["path"]:
            stop["protection"] = protection if stop["kind"] == "edge" else None
    return drawn


@pytest.mark.parametrize(("protection", "bands"), [("pad", 6), (None, 0)])
def test_protection_is_drawn_at_each_edge_of_each_line_that_has_it(
    protection: str | None, bands: int
) -> None:
    picture = elevation.whole(scene.read(covered(protection)), "a", "padded")
    found = [one for one in elements(picture, "cover") if "points" in one]
    assert [one["data-cover"] for one in found] == [protection] * bands
    assert ("protection" in "".join(ElementTree.fromstring(picture).itertext())) == bool(bands)


def test_wear_is_drawn_where_it_is_and_wider_where_there_is_more() -> None:
    line = "lead's working line"
    shares = {(line, "kerb"): 0.02, (line, "flange"): 0.5, (line, "ledge"): 3.0}
    picture = elevation.whole(scene.read(rankings.drawing(), shares), "a", "padded")
    widths = [float(one["stroke-width"]) for one in elements(picture, "worn")]
    assert len(widths) == 3
    assert widths == sorted(set(widths))
    text = " ".join(ElementTree.fromstring(picture).itertext())
    assert "50 % worn" in " ".join(text.split())
    hardly = {(line, "kerb"): 0.004}
    assert elements(elevation.whole(scene.read(rankings.drawing(), hardly), "a", "t"), "worn") == []
    assert elements(elevation.whole(scene.read(rankings.drawing()), "a", "t"), "worn") == []


def test_two_people_on_one_path_are_drawn_apart() -> None:
    drawn = rankings.drawing()
    again = [
        {**line, "person": "second", "name": f"second {line['role']}"} for line in drawn["lines"]
    ]
    picture = elevation.whole(scene.read({**drawn, "lines": [*drawn["lines"], *again]}), "a", "two")
    places = [tuple(leg[key] for key in ("x1", "y1", "x2", "y2")) for leg in legs(picture)]
    assert len(places) == 16
    assert len(set(places)) == 16
    text = "".join(ElementTree.fromstring(picture).itertext())
    assert "lead" in text
    assert "second" in text


def aside(along: float, swing_m: float = 1.8) -> dict[str, Any]:
    """What the rigging says of an option whose safety line starts aside."""
    found = rankings.facts()
    line = found["drawing"]["lines"][1]
    line["path"] = [
        {**stop, "at": [stop["at"][0], 0.0 if stop["kind"] == "person" else along, stop["at"][2]]}
        for stop in line["path"]
    ]
    return {**found, "transfers": [{**found["transfers"][0], "swing_m": swing_m}]}


@pytest.mark.parametrize("along", [-2.0, 0.0, 0.1, 2.0])
def test_a_plan_shows_what_lies_aside_and_which_way_somebody_swings(along: float) -> None:
    above = scene.from_above(aside(along))
    assert (above is None) == (abs(along) < scene.SIDEWAYS_M)
    if above is None:
        return
    (swing,) = above.swings
    assert swing.end[1] - swing.start[1] == pytest.approx(math.copysign(1.8, along))
    picture = elevation.plan(above, "a", "aside")
    scale = float(re.search(r'data-units-per-m="([\d.]+)"', picture).group(1))  # type: ignore[union-attr]
    root = ElementTree.fromstring(picture)
    arrow = [
        one.attrib
        for one in root.iter(f"{SVG}line")
        if one.get("class") == "rule" and one.get("x1") == one.get("x2")
    ]
    # coordinates are rounded to 0.01 drawing units
    assert any(drawn_length(one) == pytest.approx(1.8 * scale, abs=0.03) for one in arrow)
    assert "swings 1.8 m" in "".join(root.itertext())
    for leg in legs(picture):
        assert drawn_length(leg) == pytest.approx(float(leg["data-m"]) * scale, rel=0.01, abs=0.02)


def test_there_is_no_plan_of_what_was_not_surveyed() -> None:
    assert scene.from_above({"drawing": direct([3.0, 4.0], [40.0])}) is None
    assert scene.from_above({}) is None
