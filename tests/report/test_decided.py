"""What decides a place is said in a few words, what several options share is said once."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear.dataset.ranking.model import OptionResult, PairedChance, Quantiles, Ranking
from edgewear.dataset.ranking.part import Part
from edgewear.findings.failure import Cause, Doubt
from edgewear.findings.limits import AboveLimit, Drop, Figure, NoRoom, room_of, short_of
from edgewear.findings.plain import plain
from edgewear.findings.rigging import LongCatch
from edgewear.report.parts import decided, summary
from edgewear.report.terminal.comparison import print_ranking
from edgewear.terms import EXTRAPOLATED, MEETS, MISSES, NOT_ACCEPTABLE
from support import rankings


def printed(ranking: Ranking, details: bool = False) -> str:
    """A comparison as a pipe receives it."""
    stream = io.StringIO()
    print_ranking(ranking, stream, details=details)
    return stream.getvalue()


def said(ranking: Ranking) -> list[str]:
    """What decides each place."""
    return [decided.decided(ranking, option) for option in ranking.options]


def meeting(name: str, place: int, control: str, **changes: object) -> OptionResult:
    """An option that meets its target."""
    known = {"order": place, "rank": place, "control": control, "beats_next": None, **changes}
    return rankings.option(name, **known)


def test_a_place_is_decided_by_the_level_before_the_sheath() -> None:
    of = rankings.ranking(
        meeting("a", 1, "rigid or rolling"), meeting("b", 2, "soft"), meeting("c", 3, "soft")
    )
    assert said(of) == [
        "highest level; kerb wears most",
        "lower level than 1; kerb wears most",
        "less sheath left than 2; kerb wears most",
    ]
    assert said(rankings.ranking(meeting("a", 1, "soft"), meeting("b", 2, "soft")))[0].startswith(
        "most sheath left"
    )
    assert said(rankings.ranking(meeting("a", 1, "soft")))[0].startswith("the only one")


def test_options_that_share_a_place_say_so_in_their_rows_and_nobody_else_does() -> None:
    of = rankings.ranking(meeting("a", 1, "soft"), meeting("b", 1, "soft"), meeting("c", 3, "soft"))
    first, second, third = said(of)
    assert first.startswith("level with 'b';")
    assert second.startswith("level with 'a';")
    assert "level with" not in third
    rows = [line.split()[:2] for line in printed(of).splitlines()]
    assert ["1=", "a"] in rows
    assert ["1=", "b"] in rows
    assert ["3", "c"] in rows


def test_options_that_cannot_be_told_apart_are_not_put_in_order_by_words() -> None:
    unsure = PairedChance("b", 0.52, 0.03, False, 900, "cannot be told apart from b")
    of = rankings.ranking(meeting("a", 1, "soft", beats_next=unsure), meeting("b", 2, "soft"))
    assert said(of)[1].startswith("not told apart from 1")
    lower = rankings.ranking(of.options[0], meeting("b", 2, "bypass"))
    assert said(lower)[1].startswith("lower level than 1")  # the level decides, not the trials


def test_what_misses_the_target_says_by_how_much() -> None:
    # 70 % asked for, 58 % left
    poor = rankings.option("a", status=(MISSES,), rank=None, margin=Quantiles(0.58, 0.8, 0.9))
    assert said(rankings.ranking(poor))[0].startswith("12 points short of the target")


def test_a_bare_option_names_its_bare_edges_where_its_level_stands() -> None:
    edges = (
        rankings.edge("kerb", protection=None, level="bare"),
        rankings.edge("flange", protection=None, level="bare"),
        rankings.edge("ledge", level="soft"),
    )
    bare = rankings.option("a", status=(NOT_ACCEPTABLE,), rank=None, control="bare", edges=edges)
    assert decided.level(bare) == "bare at kerb, flange"
    assert "bare at kerb, flange" in printed(rankings.ranking(bare))


def test_a_mark_that_every_row_would_carry_is_said_once() -> None:
    everywhere = [
        rankings.option(name, status=(MEETS, EXTRAPOLATED), extrapolated=("x",)) for name in "ab"
    ]
    text = printed(rankings.ranking(*everywhere))
    assert text.count(EXTRAPOLATED) == 1
    assert "wear parameters were observed" not in text  # the caution would say it again
    one = rankings.ranking(everywhere[0], rankings.option("b"))
    assert f"{MEETS}; {EXTRAPOLATED}" in printed(one)
    assert "wear parameters were observed" in " ".join(printed(one).split())


@pytest.mark.parametrize("held", [("a", "b", "c"), ("a", "c"), ("b",)])
def test_what_to_mind_stands_once_with_the_options_it_holds_for(held: tuple[str, ...]) -> None:
    long = "if the working line is lost, lead: drop of 3.4 m"
    of = rankings.ranking(
        *(
            rankings.option(name, facts={**rankings.facts(), "mind": [long] * (name in held)})
            for name in "abc"
        )
    )
    found = [text for text in decided.shared(of) if long in text]
    whose = {3: "", 2: " [a; c]", 1: " [b]"}[len(held)]
    assert found == [f"{long}{whose}"]
    assert " ".join(printed(of).split()).count(long) == 1


def test_where_two_people_hang_every_edge_says_whose_line_it_is_met_by() -> None:
    one = rankings.option("a")
    drawn = one.facts["drawing"]
    lines = [drawn["lines"][0], {**drawn["lines"][1], "person": "second"}]
    two = replace(one, facts={**one.facts, "drawing": {**drawn, "lines": lines}})
    assert "kerb on lead's working line" in decided.course(two)
    assert "flange on lead's working line" in decided.course(two)
    assert "kerb on lead's working line wears most" in said(rankings.ranking(two))[0]
    assert " on lead's" not in decided.course(one)


def test_a_frame_that_lifts_the_line_is_no_edge() -> None:
    one = rankings.option("a", edges=(rankings.edge("frame", protection=None),))
    assert decided.course(one).startswith("frame (bare")
    drawn = one.facts["drawing"]
    frame = {"name": "frame", "at": [0.0, 0.0, 2.0], "use": "high directional"}
    lifted = {**drawn, "anchors": [*drawn["anchors"], frame]}
    told = replace(one, facts={**one.facts, "drawing": lifted})
    assert decided.course(told) == "The loaded working line bends over no edge."
    assert "wears most" not in said(rankings.ranking(told))[0]


def test_details_say_more_and_take_nothing_away() -> None:
    of = rankings.ordinary()
    short, long = (" ".join(printed(of, details).split()) for details in (False, True))
    for option in of.options:
        assert option.name in long
    for words in ("why not edge avoided: no anchor clear of the edge", "3.1 kN catch"):
        assert words in long
        assert words not in short
    kept = [line for line in printed(of).splitlines() if "--details" not in line]
    assert all(" ".join(line.split()) in long for line in kept)


def outside(what: str, times: float, far: bool) -> dict[str, object]:
    return {
        "address": f"edges/lip/{what}", "what": what, "of": "lip", "edge": "lip", "times": times,
        "far": far,
    }  # fmt: skip


def test_how_far_outside_is_said_once_a_grade_with_the_furthest_input() -> None:
    def option(name: str, *found: dict[str, object]) -> OptionResult:
        return rankings.option(
            name, status=(MEETS, EXTRAPOLATED), facts={"outside": list(found)}, looks=None
        )

    far, near = outside("bend", 3.0, True), outside("setback", 1.2, False)
    ranking = rankings.ranking(option("a", far, near), option("b", near), option("c", far))
    said = decided.shared(ranking)
    assert [text.split(",")[:2] for text in said] == [
        ["extrapolated", " far outside what the wear law was observed for"],
        ["extrapolated", " not far outside what the wear law was observed for"],
    ]
    assert said[0].endswith("most by bend of lip (3.0 times) [a; c]")
    assert said[1].endswith("most by setback of lip (1.2 times) [b]")
    assert summary.status(ranking.options[0]) == f"{MEETS}; extrapolated, far"


def test_a_drop_is_told_once_with_its_reason_and_what_the_others_drop() -> None:
    def option(name: str, metres: float) -> OptionResult:
        made = Drop(slack_m=0.2, device_m=0.6, stretch_m=metres - 0.8, sunk_m=0.0)
        above = AboveLimit(Figure.DROP, metres, 2.0, "EN 12841", usual=True)
        catch = LongCatch("lead", above, made)
        facts = {"mind": [catch.words], "catches": [catch.parts]}
        return rankings.option(name, facts=facts, looks=None)

    said = decided.shared(rankings.ranking(option("a", 2.2), option("b", 2.7), option("c", 2.2)))
    assert said == [
        "if the working line is lost, lead: drop of 2.7 m (1.9 m stretch, 0.6 m device, 0.2 m "
        "slack), more than 2 m (EN 12841 from memory: check the current standard) [b]; 2.2 m [a; c]"
    ]


@given(st.lists(st.tuples(st.floats(2.1, 9.0), st.floats(0.1, 1.9)), min_size=1, max_size=6))
def test_a_figure_of_a_catch_stands_once_whatever_it_is_made_of(
    drops: list[tuple[float, float]],
) -> None:
    def option(name: str, metres: float, slack_m: float) -> OptionResult:
        made = Drop(slack_m=slack_m, device_m=0.0, stretch_m=metres - slack_m, sunk_m=0.0)
        above = AboveLimit(Figure.DROP, metres, 2.0, "EN 12841", usual=True)
        catch = LongCatch("lead", above, made)
        return rankings.option(name, facts={"catches": [catch.parts]}, looks=None)

    options = [option(f"<{place}>", *drop) for place, drop in enumerate(drops)]
    (said,) = decided.shared(rankings.ranking(*options))
    figures = [f"{metres:.1f} m" for metres, _ in drops]
    beside = re.sub(r"\([^()]*\)", "", said)  # what a drop is made of has figures of its own
    worst, *others = sorted(set(figures), key=lambda told: -float(told.split()[0]))
    assert beside.startswith(f"if the working line is lost, lead: drop of {worst}")
    assert re.findall(r"; (\d+\.\d m)", beside) == others
    for figure in others:  # each with the options that it holds for, in their order
        mine = "; ".join(f"<{k}>" for k, told in enumerate(figures) if told == figure)
        assert f"; {figure} [{mine}]" in said or f"; {figure} [all but" in said
    made = {
        (f"{slack_m:.1f}", f"{metres - slack_m:.1f}")
        for metres, slack_m in drops
        if f"{metres:.1f} m" == worst
    }
    assert (" slack" in said) == (len(made) == 1)  # nobody is told what another's is made of


def test_parts_far_from_their_limits_are_named_once_the_nearest_alone() -> None:
    def part(used: float) -> Part:
        return Part("anchor", "bolt", ("w",), ("ann",), "load", "catch", used, used * 4e3, 4e3, "N")

    first = rankings.option("a", parts=(part(0.2),), looks=None, facts={})
    second = rankings.option("b", parts=(part(0.3),), looks=None, facts={})
    near = rankings.option("c", parts=(part(0.9),), looks=None, facts={})
    [said] = decided.shared(rankings.ranking(first, second, near))
    assert "1.2 kN" in said
    assert decided.parts(near).startswith("Other parts: bolt (anchor): 3.6 kN")
    assert decided.parts(first) == ""


def doubtful(*parts: str) -> OptionResult:
    """An option whose person nothing would hold if one of some parts failed."""
    room = NoRoom("water", 0.4)
    found = Doubt("lead", parts, (2,), False, room.words, Cause.NO_ROOM, room)
    row = plain(found)
    facts = {**rankings.facts(), "doubts": [row], "mind": [found.words]}
    return rankings.option("a", facts=facts)


@pytest.mark.parametrize(
    ("parts", "told"),
    [
        (("post", "rope"), "if post or rope failed, lead would reach water before the line"),
        (("post", "rope", "device", "lip"), "if a part of the rigging failed, lead would reach"),
    ],
)
def test_whom_nothing_would_hold_is_said_once_and_first(parts: tuple[str, ...], told: str) -> None:
    of = rankings.ranking(doubtful(*parts), rankings.option("b"))
    said = decided.shared(of)
    assert said[0].startswith(told)
    assert said[0].endswith("0.4 m too little room [a]")
    assert sum("would reach" in text for text in said) == 1
    whole = decided.shared(of, warnings=True)[0]
    assert whole.startswith(f"if {' or '.join(parts)} failed")
    assert " or ".join(parts) in " ".join(printed(of, details=True).split())


@pytest.mark.parametrize(
    ("millimetres", "told"),
    [
        (0.2, "less than 0.1 m"),
        (9.8, "less than 0.1 m"),
        (96, "less than 0.1 m"),
        (100, "0.1 m"),
        (101, "0.2 m"),
        (149, "0.2 m"),
        (300, "0.3 m"),
        (700, "0.7 m"),
        (2401, "2.5 m"),
        (123_456, "123.5 m"),
    ],
)
def test_room_that_is_missing_is_rounded_up_and_no_finer_than_it_is_known(
    millimetres: float, told: str
) -> None:
    short_m = millimetres / 1000
    assert short_of(short_m) == f"{told} too little room"
    assert room_of(-short_m, "water") == f"{told} too little room above water"
    for careful in (False, True):
        found = NoRoom("water", short_m, careful)
        assert found.words.endswith(f"({told} too little room)")


@given(st.floats(1e-6, 500.0))
def test_missing_room_never_reads_as_less_than_it_is(short_m: float) -> None:
    said = short_of(short_m)
    told_m = float(said.removeprefix("less than ").split()[0])
    assert told_m >= short_m - 1e-6
    assert told_m < short_m + 0.1 + 1e-6


@pytest.mark.parametrize("millimetres", [0.2, 1, 4, 40, 94, 96, 149, 151, 800, 2500])
def test_room_that_is_left_never_reads_as_none(millimetres: float) -> None:
    left = room_of(millimetres / 1000, "water")
    assert (left == "just touches water") == (millimetres < 1)
    assert not left.startswith("0 mm")
    assert not left.startswith("0.0")


@given(st.floats(0.001, 500.0))
def test_room_that_is_left_never_reads_as_more_than_there_is(left_m: float) -> None:
    said = room_of(left_m, "water").removesuffix(" clear of water")
    if said == "less than 0.1 m":
        assert left_m < 0.1
        return
    told_m = float(said.removesuffix(" m"))
    # what floating point takes off a whole tenth, as in 0.3 - 0.1, is no tenth less
    assert told_m <= left_m + 1e-6
    assert told_m > left_m - 0.1 - 1e-6


@pytest.mark.parametrize("tenths", range(2, 60))
def test_room_of_whole_tenths_reads_as_it_is_left_or_missing(tenths: int) -> None:
    for gap_m in (tenths / 10, tenths * 0.1, (tenths + 2) / 10 - 0.2):
        assert room_of(gap_m, "water") == f"{tenths / 10:.1f} m clear of water"
        assert room_of(-gap_m, "water") == f"{tenths / 10:.1f} m too little room above water"


def test_what_ends_on_one_thing_below_is_said_with_the_least_room_of_each_option() -> None:
    def of(name: str, *short_m: float) -> OptionResult:
        rooms = [NoRoom("water", one, careful=one < 0.1) for one in short_m]
        found = [Doubt("ann", ("post",), (2,), False, r.words, Cause.NO_ROOM, r) for r in rooms]
        facts = {**rankings.facts(), "doubts": plain(found), "mind": []}
        return rankings.option(name, facts=facts)

    said = decided.shared(rankings.ranking(of("a", 0.5), of("b", 0.04)))
    assert said[0].startswith(
        "if post failed, ann would reach water before the line stops the fall"
    )
    assert "0.5 m too little room [a]" in said[0]
    assert any("ann may reach water" in t and "less than 0.1 m too little room" in t for t in said)
