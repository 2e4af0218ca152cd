"""The headline counts what the status says, and who may not be caught comes after who is."""

from __future__ import annotations

import io
import itertools
import re

import pytest

from edgewear.dataset.ranking.headline import NO_RANK, NONE_MEETS
from edgewear.dataset.ranking.rank import ranking_of
from edgewear.findings.failure import Cause
from edgewear.findings.inquiries.proposals import Proposal, Proposals
from edgewear.findings.standing import lacks_of, met_words
from edgewear.report.parts import decided, summary
from edgewear.report.proposals.terminal import headline
from edgewear.report.terminal.comparison import print_ranking
from edgewear.terms import FAILED, LEVELS, MEETS, NO_ROOM, NOT_INDEPENDENT, ONE_LINE, WINDOW_FULL
from support.comparisons import Comparison, Way

TRIALS = 24
AGAINST = (NO_ROOM, NOT_INDEPENDENT, ONE_LINE)
WORDS = {
    NO_ROOM: "without room for a catch",
    NOT_INDEPENDENT: "not independent",
    ONE_LINE: "on one line",
    WINDOW_FULL: "could not be followed",
    FAILED: "could not be computed",
}


def compared(ways: dict[str, tuple[Way, tuple[str, ...]]]):
    """Rank ways with what is against each; a catch without room is found by the rigging."""
    made = Comparison({name: way for name, (way, _) in ways.items()})
    for name, (_, against) in ways.items():
        rigged = made.resolved["options"][name]
        rigged["status"] = [one for one in against if one != NO_ROOM]
        rigged["doubts"] = [{"cause": Cause.NO_ROOM.value}] if NO_ROOM in against else []
    return ranking_of(made)


def subsets(of):
    return [set(c) for n in range(len(of) + 1) for c in itertools.combinations(of, n)]


@pytest.mark.parametrize("against", subsets(AGAINST)[1:], ids=lambda one: ", ".join(sorted(one)))
@pytest.mark.parametrize(("level", "other"), [(0, 5), (2, 2), (3, 1), (5, 0)])
def test_who_may_not_be_caught_comes_after_who_is_whatever_level_and_wear(against, level, other):
    found = compared(
        {
            "bad": (Way([0.01] * TRIALS, LEVELS[level]), tuple(against)),
            "whole": (Way([0.25] * TRIALS, LEVELS[other]), ()),
        }
    )
    rank = None if NO_ROOM in against else 2
    assert [(one.name, one.rank) for one in found.options] == [("whole", 1), ("bad", rank)]
    assert found.headline.startswith("'whole' stands first: 75 %")
    assert "1 meets the target with nothing against it" in found.headline
    assert " 2 " not in found.headline  # nowhere are the two counted as one
    for one in against:
        assert WORDS[one] in found.headline
    said = [decided.decided(found, one) for one in found.options]
    assert said[0].startswith("better status than " + str(rank or "'bad'"))
    assert said[1].startswith("worse status than 1")
    bands = [summary.band(one) for one in found.options]
    assert bands[0] < bands[1]  # a reader's sorting keeps them apart too


@pytest.mark.parametrize("missing", AGAINST)
def test_below_the_target_the_level_decides_as_before(missing):
    found = compared(
        {
            "high": (Way([0.6] * TRIALS, LEVELS[1]), (missing,)),
            "low": (Way([0.5] * TRIALS, LEVELS[3]), ()),
        }
    )
    assert [one.name for one in found.options] == ["high", "low"]
    assert found.headline == NONE_MEETS


@pytest.mark.parametrize("bits", range(1, 27))
def test_every_option_that_meets_the_target_is_counted_once(bits):
    """Three options, each with one of three findings; the numbers said add up."""
    kinds: tuple[tuple[str, ...], ...] = ((), (NO_ROOM,), (ONE_LINE, NO_ROOM))
    given = [kinds[bits // 3**n % 3] for n in range(3)]
    ways = {name: (Way([0.1] * TRIALS), one) for name, one in zip("abc", given, strict=True)}
    found = compared(ways)
    counts = [int(n) for n in re.findall(r"(\d+) meets? (?:the target|it)", found.headline)]
    assert sum(counts) == 3
    assert len(counts) + ("None meets" in found.headline) == len({*given, ()})
    whole = [name for name, one in zip("abc", given, strict=True) if not one]
    assert (counts[0] == len(whole)) if whole else found.headline.startswith("None meets")
    best = min(range(3), key=lambda n: len(given[n]))
    assert found.options[0].name == "abc"[best]
    if not whole:
        assert found.headline.endswith(NO_RANK)
        assert "first" not in found.headline


@pytest.mark.parametrize("worn", list(itertools.permutations((0.05, 0.1, 0.2, 0.25))))
def test_a_number_is_only_for_who_is_caught_before_something_below(worn):
    """Whatever the sheath left: numbers count up without a gap, and whoever would hit has none."""
    kinds = ((), (NO_ROOM,), (ONE_LINE, NOT_INDEPENDENT), (NOT_INDEPENDENT, NO_ROOM))
    ways = {
        str(n): (Way([gone] * TRIALS, LEVELS[n]), kind)
        for n, (gone, kind) in enumerate(zip(worn, kinds, strict=True))
    }
    found = compared(ways)
    ranks = [one.rank for one in found.options]
    assert ranks == [1, 2, None, None]
    assert [NO_ROOM in one.status for one in found.options] == [False, False, True, True]
    assert all(one.group == 0 for one in found.options)
    said = [decided.decided(found, one) for one in found.options]
    assert not any("None" in text for text in said)


def test_nothing_against_any_is_said_as_a_plain_count():
    found = compared({name: (Way([0.1 * n] * TRIALS), ()) for n, name in enumerate("abc")})
    assert found.headline.startswith("'a' stands first of 3 that meet the target: 99 %")


def test_an_option_with_trials_that_failed_is_not_counted_with_the_whole_ones():
    way = Way([0.01] * TRIALS, LEVELS[1], failed=frozenset([3]))
    found = compared({"a": (way, ()), "b": (Way([0.2] * TRIALS), ())})
    assert found.options[0].name == "a"  # it catches as well, and its level is higher
    assert "'a' stands first, but with trials that could not be computed:" in found.headline
    assert "1 meets the target with nothing against it" in found.headline


@pytest.mark.parametrize("lacks", subsets(tuple(WORDS)))
def test_what_lacks_is_said_in_full_and_nothing_else(lacks):
    said = met_words([(MEETS, *lacks), (MEETS, NO_ROOM)])
    for one, words in WORDS.items():
        assert (words in said) == (one in {*lacks, NO_ROOM})
    assert set(lacks_of((MEETS, *lacks))) == lacks


def test_proposals_are_counted_the_same_way():
    given = {"a": (MEETS,), "b": (MEETS, NO_ROOM)}
    tried = [Proposal(name, "", status, "soft", 0.9, 8) for name, status in given.items()]
    whole = headline(Proposals("t", 0.7, 0, tuple(tried), ()))
    assert "1 meets the target with nothing against it in the status; 1 meets it, but" in whole
    assert " 2 meet" not in whole
    assert "2 meet the target of 70 %" in headline(Proposals("t", 0.7, 0, (tried[0], tried[0]), ()))


@pytest.mark.parametrize("other", [(), (NO_ROOM,), (NO_ROOM, NOT_INDEPENDENT)])
@pytest.mark.parametrize("against", [(), (NO_ROOM,)])
@pytest.mark.parametrize(("level", "below"), [(0, 0), (2, 2), (1, 3), (3, 5), (4, 5)])
@pytest.mark.parametrize("worn", [(0.2, 0.2), (0.6, 0.6), (0.2, 0.6)])
def test_only_what_nothing_else_tells_apart_is_said_not_to_be_told_apart(
    level, below, against, other, worn
):
    """Alike in the trials; whether somebody is caught and the level decide without any."""
    spread = [0.04 * (place % 5 - 2) / 2 for place in range(TRIALS)]
    found = compared(
        {
            "a": (Way([worn[0] + one for one in spread], LEVELS[level]), against),
            "b": (Way([worn[1] - one for one in spread], LEVELS[below]), other),
        }
    )
    first, second = found.options
    apart = first.group != second.group or first.level != second.level
    apart = apart or (first.group == 0 and len(set(against)) != len(set(other)))
    unsure = first.beats_next is not None and not first.beats_next.told_apart
    assert bool(found.notes) == (unsure and not apart)
    assert "cannot be told apart" not in found.headline or found.notes
    if NO_ROOM not in (*against, *other):  # of that a terminal needs more than its cause
        shown = io.StringIO()
        print_ranking(found, shown, 80)
        told = " ".join(shown.getvalue().split())
        assert all(note in told for note in found.notes)
        assert ("cannot be told apart" in told) == any("cannot be" in note for note in found.notes)
