"""Names that begin with a word that joins are in no sentence in which that word stands twice."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from edgewear.dataset.ranking.headline import headline
from edgewear.dataset.ranking.model import OptionResult, PairedChance, Quantiles, Ranking
from edgewear.dataset.ranking.paired import _apart_words
from edgewear.dataset.ranking.why import why_of
from report.test_never import in_terminal
from report.test_small import OUTPUTS
from support import rankings

JOINING = ("from", "at", "to", "over", "on", "of", "with", "by", "than", "towards", "under", "in")
TWICE = re.compile(rf"\b({'|'.join(JOINING)}) \1\b")


def named(word: str, told_apart: bool) -> Ranking:
    """A comparison whose options, edges and lines have names that begin with a word."""
    edges = tuple(
        rankings.edge(f"{word} the {name}", line=f"{word} the side, working line",
                      demand_careful=takes, worst_share_careful=share, worst_share=1 - share)
        for name, takes, share in (("kerb", 0.3, 0.9), ("lip", 0.2, 0.1))
    )  # fmt: skip
    made: list[OptionResult] = []
    for order, name in enumerate((f"{word} the post", f"{word} the posts"), start=1):
        other = f"{word} the posts"
        apart = PairedChance(other, 0.5, 0.03, told_apart, 4000, "")
        apart = replace(apart, words=_apart_words(other, told_apart, 0.01, 4000))
        one = rankings.option(
            name, order=order, rank=order, edges=edges, margin=Quantiles(0.8, 0.9, 0.95),
            beats_next=apart if order == 1 else None,
        )  # fmt: skip
        made.append(replace(one, why=why_of(one)))
    of = rankings.ranking(*made)
    return replace(of, headline=headline(of.options, of.target))


@pytest.mark.parametrize("told_apart", [False, True])
@pytest.mark.parametrize("word", JOINING)
def test_no_joining_word_stands_twice(word: str, told_apart: bool) -> None:
    of = named(word, told_apart)
    texts = {name: write(of) for name, write in OUTPUTS.items() if name != "terminal"}
    texts["terminal"] = re.sub(r"\n {2,}", " ", in_terminal(of))  # a line that goes on is indented
    assert {name: TWICE.findall(text) for name, text in texts.items()} == {
        name: [] for name in texts
    }
