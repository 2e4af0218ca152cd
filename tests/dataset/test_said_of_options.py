"""What is said of options stands whole in documents, and in words without a gap."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations
from types import SimpleNamespace

import numpy as np
import pytest

from edgewear.dataset.ranking.edge_summaries import _median
from edgewear.dataset.ranking.headline import NO_RANK, headline
from edgewear.dataset.ranking.looks import WearsThrough, WornAt
from edgewear.dataset.ranking.model import CoreVisible, Fact, First, Quantiles
from edgewear.dataset.ranking.option_trials import extrapolated_in
from edgewear.dataset.ranking.rank import ranking_of
from edgewear.dataset.ranking.why import facts_of, why_of
from edgewear.errors import Mismatch
from edgewear.terms import WORKING
from support.comparisons import Comparison, Way
from support.rankings import edge, option


def test_figures_stand_in_documents_under_their_names() -> None:
    assert Quantiles(1.0, 2.0, None).as_json() == {"p5": 1.0, "p50": 2.0, "p95": None}
    assert Fact("label", "words").as_json() == {"label": "label", "words": "words"}
    lip = edge("lip")
    whole, bare = lip.as_json(), lip.as_json(wear=False)
    assert whole.keys() == bare.keys() == vars(lip).keys()
    hidden = {"demand_max", "worst_share", "worn_at", "demand_careful", "worst_share_careful",
              "sideways_careful"}  # fmt: skip
    assert all(not bare[name] for name in hidden)
    assert {n: v for n, v in bare.items() if n not in hidden} == {
        n: v for n, v in whole.items() if n not in hidden
    }


@pytest.mark.parametrize("others", [(), (edge("kerb"),)])
def test_why_an_option_stands_where_it_does_is_said_without_a_gap(others) -> None:
    said = why_of(option("it", edges=(edge("lip"), *others)))
    assert said == " ".join(said.split())
    assert "None" not in said


def test_a_level_tells_two_options_apart_that_their_trials_do_not() -> None:
    first = option("one")
    assert first.beats_next is not None
    alike = replace(first.beats_next, told_apart=False, other="two")
    first = replace(first, beats_next=alike)
    told = "'one' cannot be told apart from 'two' with these trials."
    assert headline([first, option("two", rank=2)], 0.6).endswith(told)
    said = headline([first, option("two", rank=2, control="bare")], 0.6)
    assert "told apart" not in said
    assert said == said.strip()
    assert not said.endswith("None")
    unranked = headline([option("one", rank=None)], 0.6)
    assert unranked.endswith(NO_RANK)


def test_inputs_beyond_what_was_seen_are_told_in_order_where_half_the_trials_have_them() -> None:
    def beyond(*texts: str, failed: int = 0) -> tuple[str, ...]:
        runs = {"extrapolated": np.array([*texts, *[""] * failed], object)}
        ok = np.array([True] * len(texts) + [False] * failed)
        return extrapolated_in(SimpleNamespace(runs=runs, ok=ok))

    for failed in (0, 1, 4, 40):  # trials that fail say nothing of what they would have met
        assert beyond("b, a", "c, a", "b", "a, b, a", failed=failed) == ("a", "b")
        assert beyond("", "c", "b", "", failed=failed) == ()
    assert beyond(failed=3) == ()


def test_of_no_number_the_middle_is_nothing() -> None:
    assert _median(np.array([np.nan, np.nan])) == 0.0
    assert _median(np.array([3.0, 1.0, 2.0])) == 2.0


def test_the_working_line_is_the_line_and_another_has_its_name() -> None:
    for line, said in ((WORKING, "of the line"), ("ann safety line", "of ann safety line")):
        worn = WearsThrough(line, "lip", 30.0, None, False, share=0.3)
        assert said in worn.words
    whole = WearsThrough(WORKING, "lip", 30.0, None, False)  # until the core shows unless said
    assert (whole.as_json()["share"], "wears the line through" in whole.words) == (1.0, True)


@pytest.mark.parametrize(
    "order", list(permutations([("flange", 0.5), ("kerb", 0.9), ("lip", 0.1)]))
)
def test_after_the_edge_that_decides_comes_the_one_that_wears_most_of_the_others(order) -> None:
    edges = tuple(
        edge(name, demand_max=takes, demand_careful=takes, worst_share_careful=takes)
        for name, takes in order
    )
    said = why_of(option("it", edges=edges))
    assert said.startswith("kerb (pad, bend up to 41 degrees) wears most: ")
    assert "Next comes flange, which takes 50 % of the sheath." in said
    assert "lip" not in said


@pytest.mark.parametrize("takes", [0.02, 0.4, 1.5])
@pytest.mark.parametrize(
    ("share", "told"),
    [(0.0, None), (0.09, None), (0.11, "11 %"), (0.5, "50 %"), (0.98, "98 %"), (1.0, "all")],
)
def test_travel_along_an_edge_is_told_where_it_takes_a_tenth_of_the_wear_there(
    takes, share, told
) -> None:
    lip = edge("lip", demand_careful=takes, sideways_careful=share * takes)
    said = why_of(option("it", edges=(lip,)))
    words = [] if told is None else [f"at the careful end (up to {told} of it by travel sideways"]
    assert [part for part in words if part in said] == words
    assert ("sideways" in said) == (told is not None)


@pytest.mark.parametrize("rate", [0.0, 0.5])
def test_the_rate_of_strokes_is_held_against_each_bounce_that_is_known(rate) -> None:
    it = option("it", edges=(), stroke_hz=rate, frequency_sliding_hz=2.0, frequency_stuck_hz=4.0)
    assert {fact.label: fact.words for fact in facts_of(it)} == {
        "strokes a second": "0.50" if rate else "0",
        "bounces a second, sliding": "2.0",
        "bounces a second, stuck": "4.0",
        "stroke rate over the bounce, sliding": "0.25" if rate else "0",
        "stroke rate over the bounce, stuck": "0.12" if rate else "0",
    }
    assert facts_of(replace(it, stroke_hz=None)) == ()


@pytest.mark.parametrize(
    ("more", "said"), [(0.0, "level with '{}' in every way that counts"), (0.001, "cannot be told")]
)
def test_two_options_whose_trials_are_alike_are_level_and_others_are_not(more, said) -> None:
    trials = [0.2] * 24
    ways = {"b": Way([one + more for one in trials], step_error=0.01), "a": Way(trials)}
    first, second = ranking_of(Comparison(ways)).options
    assert first.beats_next is not None
    assert first.beats_next.words.startswith(said.format(second.name))
    assert first.beats_next.replicates_to_settle is None
    assert (first.order == second.order) == (more == 0.0)


@pytest.mark.parametrize("strokes", [None, 7])
@pytest.mark.parametrize("share", [1 / 3, 1.0])
@pytest.mark.parametrize(("from_start", "sudden"), [(True, False), (False, False), (True, True)])
def test_an_edge_that_wears_through_too_soon_is_said_with_how_soon(
    strokes, share, from_start, sudden
):
    found = WearsThrough("ann", "lip", 90.0, strokes, from_start, share, sudden)
    through = "about 7 strokes" if strokes else "90 s"
    if share < 1.0:
        said = f"stop: lip wears a third of the sheath of ann in {through}"
    elif sudden:
        said = (
            f"stop: no look comes in time, lip wears ann through at once, {through} from the start"
        )
    elif from_start:
        said = f"stop: lip wears ann through in {through}"
    else:
        said = f"stop at the first look: from there lip wears ann through in {through}"
    assert found.words == said
    told = found.as_json()
    assert told == {"line": "ann", "edge": "lip", "time_s": 90.0, "strokes": strokes,
                    "from_start": from_start, "share": share, "sudden": sudden,
                    "words": said}  # fmt: skip
    assert WearsThrough("ann", "lip", 90.0, strokes, from_start).share == 1.0


def test_when_the_core_shows_is_told_by_the_clock_and_by_the_rope():
    found = CoreVisible(First(10.0, 20.0), First(1.0, None))
    assert found.as_json() == {
        "time_s": {"p5": 10.0, "p50": 20.0}, "ascended_m": {"p5": 1.0, "p50": None}}  # fmt: skip


def test_only_a_comparison_is_ranked(tmp_path):
    sweep = SimpleNamespace(root=tmp_path, manifest=SimpleNamespace(kind="sweep"))
    with pytest.raises(Mismatch, match="a sweep; only a comparison is ranked"):
        ranking_of(sweep)


def test_of_an_option_over_a_cutting_edge_no_wear_is_told():
    said = why_of(SimpleNamespace(group=3))
    assert "A cutting edge under load can part a rope in one pass, so no wear number" in said


def test_when_a_share_is_worn_stands_in_a_document_under_its_names():
    told = {"share": 1.0, "time_s": 9.0, "ascended_m": None}
    assert WornAt(**told).as_json() == told
