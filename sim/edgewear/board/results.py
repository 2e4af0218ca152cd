"""What is known so far in the report's own words: order, statuses, what decides, what to mind."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from edgewear.board.answers import Answer
from edgewear.cautions import LAW_FIRST, PROJECTION
from edgewear.dataset.ranking.model import OptionResult, Ranking
from edgewear.report.formats import document as d
from edgewear.report.formats import html
from edgewear.report.parts import certainty, decided, sentences, summary, words
from edgewear.study.compare import REPLICATES


def fragment(answer: Answer) -> str:
    """Write an answer as markup."""
    return html.fragment(_blocks(answer))


def spoken(answer: Answer) -> str:
    """Say an answer in a sentence or two, for those who listen to the page."""
    return f"{how_far(answer)} {answer.ranking.headline}"


def nothing(told: str) -> str:
    """Write why there is no answer."""
    return html.fragment([d.Paragraph((told,), "note")])


def how_far(answer: Answer) -> str:
    """Say how many trials an answer rests on."""
    if answer.settled:
        return f"Settled with {answer.trials} trials of each option: as `compare` gives it."
    rest = "" if answer.trials < REPLICATES else "; what each change is worth is still to come"
    return f"{answer.trials} of {REPLICATES} trials of each option: the figures still move{rest}."


def _blocks(answer: Answer) -> Iterator[d.Block]:
    ranking = answer.ranking
    yield d.Paragraph(d.run(d.Strong(ranking.headline)), "lead")
    yield d.Paragraph((how_far(answer),), "note")
    yield replace(summary.table(ranking), sortable=False)
    for note in ranking.notes:
        yield d.Paragraph((d.Name(note),), "note")
    yield _decides(answer)
    said = decided.shared(ranking, warnings=True)
    if said:
        yield d.Section(
            ("Mind",), "board-mind", (d.Listing(tuple((d.Name(text),) for text in said)),), level=3
        )
    yield from _worth(answer)
    told = decided.cautions(ranking, (PROJECTION, LAW_FIRST))
    points = tuple((text,) for text in told)
    yield d.Section(("Cautions",), "board-cautions", (d.Listing(points, "caution"),), level=3)


def _decides(answer: Answer) -> d.Block:
    points = tuple(_point(answer, option) for option in answer.ranking.options)
    return d.Section(("What decides",), "board-decides", (d.Listing(points),), level=3)


def _point(answer: Answer, option: OptionResult) -> d.Run:
    """Say of an option what decides, how sure its careful end is, and when to look."""
    ranking: Ranking = answer.ranking
    parts = [
        decided.decided(ranking, option),
        "" if option.group == 3 else between(answer, option.name),
    ]
    said = [decided.course(option), decided.first_look(option), decided.parts(option)]
    own = decided.own(ranking, option)
    more = [f"Mind: {'; '.join(own)}."] if own else []
    failed = [f"{sentences.failures(option)}."] if option.failed else []
    first = "; ".join(part for part in parts if part)
    rest = " ".join(part for part in (*said, *more, *failed) if part)
    return d.run(d.Strong(option.name), f": {first}. " if first else ": ", d.Name(rest))


def between(answer: Answer, option: str) -> str:
    """Say between what the careful end lies with these trials; few bound it from above alone."""
    low, high = answer.between.get(option, (None, None))
    if high is None:
        return "the careful end is not known"
    if low is None:
        return f"careful end not above {words.left(high)}, its lower end not known yet"
    return f"careful end {words.left(low)} to {words.left(high)} (90 % of such sets of trials)"


def _worth(answer: Answer) -> Iterator[d.Block]:
    """Say what each change between neighbours in the order is worth, once it is known."""
    found = certainty.changes(answer.ranking)
    if found:
        yield d.Section(("What one change is worth",), "board-worth", tuple(found), level=3)
