"""What is not nothing reads as nothing in no output, and the outputs say one number."""

from __future__ import annotations

import html
import math
import re
from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from edgewear import spelt
from edgewear.dataset.ranking.model import OptionResult, Quantiles, Ranking
from edgewear.dataset.ranking.part import Part
from edgewear.dataset.ranking.why import facts_of, why_of
from edgewear.findings.limits import AboveLimit, Drop, Figure, NoRoom, OffProtection, Travel
from edgewear.report import page
from edgewear.report.formats import markdown
from edgewear.report.parts.option_details import details
from report.test_never import in_odt, in_terminal
from support import rankings

UNITS = r"(?:mm|m|kN|N|kg|s|%|Hz|°|degrees?|deg|points)"
NOTHING = re.compile(rf"(?<![\w.,−-])0(?:\.0+)? ?{UNITS}(?![\w])")
"""A round 0 of something; -0.4 m and 10.0 m are none."""

SIZES = st.floats(-7.0, 2.0).map(lambda power: 10.0**power)


def of_size(size: float) -> OptionResult:
    """An option all of whose figures are so large [SI], and none of which is nothing."""
    spread = Quantiles(size, size, size)
    small = rankings.edge(
        "kerb", wrap_deg=size, stuck_share=min(size, 1.0), travel_per_stroke_m=size, slip_m=size,
        peak_tension_n=size, mark_travel_m=spread, mark_stop_m=size, demand_max=size,
        worst_share=min(size, 1.0), demand_careful=size, worst_share_careful=min(size, 1.0),
        sawing_amplitude_m=size,
    )  # fmt: skip
    known = rankings.facts()
    known["transfers"] = [
        dict(row, depth_m=21.0, drop_m=size, drop_careful_m=size, swing_m=size, peak_n=size,
             peak_careful_n=size, clearance_m={"water": size + 0.001})  # less is "just touches"
        for row in known["transfers"]
    ]  # fmt: skip
    known["loads"] = [dict(row, peak_n=size, each_fixing_n=[size]) for row in known["loads"]]
    known["ropes"] = [dict(row, tail_m=size) for row in known["ropes"]]
    made = rankings.option(
        "small", edges=(small,), anchor_peak_n=spread, peak_tension_n=spread, stretch_m=spread,
        frequency_sliding_hz=size, frequency_stuck_hz=size, stroke_hz=size, facts=known,
    )  # fmt: skip
    return rankings.option(**{**vars(made), "why": why_of(made), "why_facts": facts_of(made)})


def shown(text: str) -> str:
    """The text of an output without its drawings, tags and scripts."""
    for gone in ("svg", "style", "script", "head"):
        text = re.sub(rf"<{gone}\b.*?</{gone}>", " ", text, flags=re.S)
    return " ".join(html.unescape(re.sub("<[^>]+>", " ", text)).split())


def in_details(of: Ranking) -> str:
    """What `--details` says."""
    return " ".join(f"{label}: {told}" for label, told in details(of.options[0]))


OUTPUTS: dict[str, Callable[[Ranking], str]] = {
    "page": lambda of: shown(page.write([rankings.source_of(of)])),
    "markdown": lambda of: markdown.write(page.sheet([rankings.source_of(of)])),
    "text document": lambda of: shown(in_odt(of)),
    "terminal": lambda of: " ".join(in_terminal(of).split()),
    "details": in_details,
    "facts": lambda of: " ".join(f"{f.label}: {f.words}" for f in of.options[0].why_facts),
}


def length_m(told: str) -> tuple[float, float]:
    """Between which lengths a text lies that tells one, by the digits that it has."""
    below, number, unit = re.fullmatch(r"(below )?([\d.]+) (mm|m)", told).groups()
    scale = 1.0 if unit == "m" else 1e-3
    if below:
        return 0.0, float(number) * scale
    half = 0.5 * 10.0 ** -len(number.partition(".")[2])
    return (float(number) - half) * scale, (float(number) + half) * scale


@settings(deadline=None, max_examples=40)  # a page each
@given(SIZES)
def test_no_output_says_nothing_of_something_and_all_say_one_number(size: float) -> None:
    of = rankings.ranking(of_size(size))
    texts = {name: write(of) for name, write in OUTPUTS.items()}
    assert [(name, NOTHING.findall(text)) for name, text in texts.items()] == [
        (name, []) for name in texts
    ]
    told = {
        found
        for text in texts.values()
        for found in re.findall(
            r"(?:drags |: |, |: )?((?:below )?[\d.]+ mm?)(?: of rope (?:over|a stroke)| a stroke)",
            text,
        )
    }
    assert len(told) == 1
    low_m, high_m = length_m(*told)
    assert low_m * (1 - 1e-9) <= size <= high_m * (1 + 1e-9)  # halves round either way


SPELT = (
    spelt.metres, spelt.millimetres, spelt.tenths, spelt.kilonewtons, spelt.kilograms,
    spelt.duration, spelt.percent, spelt.hertz, spelt.degrees, spelt.bend,
    lambda x: NoRoom("deck", x).words,
    lambda x: OffProtection((Travel(x, "kerb", "a pad"),)).words,
    lambda x: AboveLimit(Figure.DROP, x, 0.0, "limits/drop").words.partition(",")[0],
    lambda x: AboveLimit(Figure.PEAK, x, 0.0, "limits/peak").short,
    lambda x: Drop(x, x, x, x).words,
    lambda x: Part("anchor", "post", ("a",), ("b",), "load", "in work", x, x, x, "N").words,
    lambda x: Part("bypass sling", "s", ("a",), ("b",), "wear", "in work", x, x, x).words,
)  # fmt: skip


@pytest.mark.parametrize("spelling", SPELT)
@given(SIZES)
def test_no_spelling_makes_nothing_of_something(
    spelling: Callable[[float], str], size: float
) -> None:
    assert not NOTHING.search(spelling(size))


@given(st.floats(allow_nan=False, allow_infinity=False, min_value=-1e6, max_value=1e6))
def test_a_spelling_is_as_near_as_its_digits(value: float) -> None:
    told = spelt.metres(value).replace(spelt.MINUS, "-")
    if told.startswith("below"):
        assert 0 < abs(value) < 0.05e-3 * (1 + 1e-9)
        return
    number, unit = told.split()
    scale = 1.0 if unit == "m" else 1e-3
    half = 0.5 * 10.0 ** -len(number.partition(".")[2]) * scale
    assert math.isclose(float(number) * scale, value, rel_tol=1e-9, abs_tol=half * (1 + 1e-9))
