"""What `check` prints: a screen or two, every warning once, every place and assumption named."""

from __future__ import annotations

import io
from pathlib import Path

import pytest

from edgewear.report.terminal.console import display_width
from edgewear.report.terminal.understood import print_look_at, print_understood
from edgewear.study.check import Understood, check

SHIPPED = sorted((Path(__file__).parents[2] / "scenarios").glob("*.yaml"))
LINES = 50
"""Lines of a screen: an ordinary window of a laptop, not the 24 of a terminal of 1978."""


@pytest.fixture(scope="module")
def understood() -> tuple[Understood, ...]:
    return check(SHIPPED)


def printed(one: Understood, details: bool = False) -> list[str]:
    """A scenario's summary and warnings, as both streams get them."""
    stream = io.StringIO()
    print_understood([one.lines(details)], stream)
    print_look_at([(str(one.file.name), one.look_at)], stream)
    return stream.getvalue().splitlines()


def test_a_scenario_fits_two_screens_and_no_line_is_wider_than_eighty(
    understood: tuple[Understood, ...],
) -> None:
    assert max(len(one.rigged) for one in understood) >= 5
    for one in understood:
        lines = printed(one)
        assert len(lines) <= 2 * LINES, one.file
        for line in (*lines, *printed(one, details=True)):
            assert display_width(line) <= 80


def test_every_warning_stands_once_and_names_all_its_options(
    understood: tuple[Understood, ...],
) -> None:
    for one in understood:
        assert len(set(one.look_at)) == len(one.look_at)
        for option in one.rigged:
            for warning in option.warnings:
                told = [text for text in one.look_at if text.startswith(warning)]
                assert len(told) == 1
                assert told[0] == warning or option.option in told[0]


def test_both_ways_name_every_place_every_length_and_what_is_assumed(
    understood: tuple[Understood, ...],
) -> None:
    for one in understood:
        for details in (False, True):
            text = " ".join(" ".join(printed(one, details)).split())
            for option in one.rigged:
                assert f"{option.option}: {option.control}" in text
                for status in option.status:
                    assert status in text
                for line in option.drawing["lines"]:
                    for place in line["path"]:
                        assert place["name"] in text
            for names in (one.scenario.anchors, one.scenario.ropes, one.scenario.people):
                assert all(name in text for name in names)
            if any(row["said"] == "usual" for row in one.as_json()["work"]):
                assert "assumed: " in text


def test_an_edge_that_a_sling_passes_is_not_called_bare(understood: tuple[Understood, ...]) -> None:
    one = next(one for one in understood if one.file.stem == "two-lines-re-anchored")
    text = " ".join(" ".join(printed(one)).split())
    assert "kickplate 58 deg (sling)" in text
    assert "(bare)" not in text  # every other edge of it is covered
