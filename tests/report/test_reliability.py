"""The reliability diagram: where its points stand."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from edgewear.findings.learning.scores import Part, Scores
from edgewear.report.drawings.charts import LEFT
from edgewear.report.learning.diagram import BOTTOM, SIDE, reliability_picture

LEVELS = ((0.25, Part(0.5, 0.2, 0.8)), (0.75, Part(0.75, 0.4, 1.0)))


def drawn(levels: tuple[tuple[float, Part], ...]) -> ElementTree.Element:
    return ElementTree.fromstring(
        reliability_picture(Scores("f", (), (), (), None, None, levels, None))
    )


def test_points_stand_at_their_levels_and_shares() -> None:
    circles = [e for e in drawn(LEVELS).iter() if e.tag.endswith("circle")]
    for circle, (level, part) in zip(circles, LEVELS, strict=True):
        assert float(circle.attrib["cx"]) == pytest.approx(LEFT + SIDE * level, abs=0.01)
        assert float(circle.attrib["cy"]) == pytest.approx(BOTTOM - SIDE * part.value, abs=0.01)


def test_who_cannot_see_it_is_told_the_same() -> None:
    said = next(e.text or "" for e in drawn(LEVELS).iter() if e.tag.endswith("desc"))
    assert re.findall(r"\d+", said)[-8:] == ["25", "50", "20", "80", "75", "75", "40", "100"]


def test_no_forecast_is_an_empty_frame() -> None:
    assert not [e for e in drawn(()).iter() if e.tag.endswith("circle")]
