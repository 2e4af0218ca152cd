"""The limit of one option is its own: what another option cannot do neither cuts nor refuses it."""

from dataclasses import replace

import pytest

from edgewear.errors import ScenarioError
from edgewear.scenario import load_text
from edgewear.study.limits.concerned import changed_for
from edgewear.study.limits.limit import how_far

MADE = """
edgewear: 1
title: two ropes
setting: test
target: 70 %
{anchors}
edges: {{bar: {{{place}radius: 6 mm, surface: steel}}}}
ropes:
  long: {{like: low-stretch 11, length: 90 m}}
  short: {{like: low-stretch 11, length: {short} m}}
people: {{climber: {{mass: 90 kg, technique: normal}}}}
options:
{options}
job: [{{descend: 8 m}}, {{ascend: 6 m}}]
{more}
"""

MINE = "  mine: {{{0}, rope: long, protect: {{bar: roller}}}}"
OTHER = "  other: {{{0}, rope: short, protect: {{bar: roller}}}}"

WAYS = {
    "placed": (
        "anchors: {near: {out: -3 m, up: 0.5 m}, far: {out: -14 m, up: 0.5 m}}",
        "out: 0 m, up: 0 m, ", "anchor: near", "anchor: far",
    ),
    "bends given": (
        "", "", "over: [{edge: bar, after: 3 m, bend: 80 deg}]",
        "over: [{edge: bar, after: 14 m, bend: 80 deg}]",
    ),
}  # fmt: skip
"""Anchors, where the edge lies, how either option starts."""

SAID_OF_BOTH = "study: {grid: {options: [mine, other]}}"
BELOW = "below: {water: -140 m}"


def made(way, short=30, first=True, alone=False, more=""):
    """The scenario: `short` is the length of the other option's rope [m]; `first` mine is."""
    anchors, place, mine, other = WAYS[way]
    options = [MINE.format(mine)] if alone else [MINE.format(mine), OTHER.format(other)]
    text = MADE.format(
        anchors=anchors, place=place, short=short, more=more,
        options="\n".join(options if first else options[::-1]),
    )  # fmt: skip
    return load_text(text, "made.yaml")


def limits(scenario, question, over=None):
    return how_far(scenario, [question], ["mine"], replicates=20, workers=1, over=over).limits


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("first", [True, False])
@pytest.mark.parametrize("short", [30, 57])
@pytest.mark.parametrize("question", ["job/1/descend/height=8 m..120 m", "job/times=1..4"])
def test_a_limit_is_that_of_the_option_alone(way, first, short, question):
    """Of either kind of problem: found by reading, and found when the lines are laid."""
    alone = limits(made(way, alone=True), question)
    assert limits(made(way, short, first), question) == alone


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("more", [SAID_OF_BOTH, BELOW])
def test_so_it_is_where_the_file_says_more(way, more):
    question = "job/1/descend/height=8 m..60 m"
    alone = limits(made(way, alone=True), question)
    (found,) = limits(made(way, more=more), question)
    # nothing but the room for a catch above what lies below may be told beside
    bare = [replace(place, status=()) for place in found.places]
    assert bare == [replace(place, status=()) for place in alone[0].places]


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("deepest", [20, 60])
def test_a_second_input_that_another_option_cannot_take_is_asked_all_the_same(way, deepest):
    question, over = "edges/bar/radius=5 mm..8 mm", f"job/1/descend/height=8 m..{deepest} m"
    alone = limits(made(way, alone=True), question, over)
    assert len(alone) == 5
    assert limits(made(way), question, over) == alone


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("depth_m", [88, 100, 300])  # 3 m of the 90 m lie above the edge
@pytest.mark.parametrize("first", [True, False])
def test_what_it_cannot_do_itself_is_said_of_it(way, depth_m, first):
    with pytest.raises(ScenarioError) as told:
        changed_for(
            "mine", made(way, first=first),
            lambda one: one.with_values({"job/1/descend/height": f"{depth_m} m"}),
        )  # fmt: skip
    messages = [problem.message for problem in told.value.problems]
    assert messages
    assert all("option 'mine'" in message for message in messages)
