"""The picture of a fault study's worst run: people, happenings, sheath demand."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from edgewear.findings.timeline import Course, Demand, Mark, Span, Timeline
from edgewear.report import faults_picture
from support import rankings

SVG = "{http://www.w3.org/2000/svg}"


def document(name: str = "rescuer") -> Timeline:
    """A run in which a pad slips and somebody comes late."""
    hurt = (Span(0, 600, "work", "activity"), Span(600, 1800, "hanging", "waiting"))
    comes = (Span(0, 300, "rest", "rest"), Span(300, 1500, "comes", "activity"))
    return Timeline(
        "pad slips",
        people=(Course("casualty", hurt), Course(name, comes)),
        marks=(Mark(720.0, "coping", "pad slips"), Mark(1500.0, name, "takes over")),
        demand=(Demand("casualty's line", (0, 900, 1800), (0, 0.4, 1.3)),),
    )


def shown(picture: str) -> str:
    """All words of a picture."""
    return " ".join(" ".join(ElementTree.fromstring(picture).itertext()).split())


def test_people_happenings_and_the_core_are_named() -> None:
    text = shown(faults_picture(document()))
    for words in ("casualty", "rescuer", "12:00 coping: pad slips", "25:00 rescuer: takes over",
                  "core shows", "casualty's line", "waiting", "min"):  # fmt: skip
        assert words in text


def test_bars_are_as_long_as_what_they_stand_for() -> None:
    root = ElementTree.fromstring(faults_picture(document()))
    bars = {
        kind: [float(r.attrib["width"]) for r in root.iter(f"{SVG}rect") if r.get("class") == kind]
        for kind in ("busy", "waiting")
    }
    # 600 s, 1,200 s of activity, 1,200 s of waiting; coordinates have two digits
    assert bars["busy"][1] == pytest.approx(2 * bars["busy"][0], abs=0.02)
    assert bars["waiting"][0] == pytest.approx(bars["busy"][1], abs=0.02)


@pytest.mark.parametrize("name", rankings.HOSTILE)
def test_hostile_names_leave_it_well_formed(name: str) -> None:
    root = ElementTree.fromstring(faults_picture(document(name)))
    assert not list(root.iter(f"{SVG}script"))


def test_a_study_without_happenings_is_drawn_too() -> None:
    empty = Timeline("nothing")
    assert "Nothing happened" in shown(faults_picture(empty))
