"""The report of one or several datasets as a document, and its page."""

from __future__ import annotations

from collections.abc import Sequence

from edgewear.report.formats import document as d
from edgewear.report.formats import html
from edgewear.report.parts import certainty, comparison, options, summary
from edgewear.report.parts.sources import Source


def sheet(sources: Sequence[Source]) -> d.Sheet:
    """Put the document together.

    Parameters:
        sources: at least one dataset; the first is the one decided on.
    """
    first, *others = sources
    ranking = first.ranking
    identity = "d1"
    blocks: list[d.Block] = [
        d.Paragraph(("Ways to rig a job, compared by the sheath they would leave",), "over"),
        summary.title_block(ranking),
        *summary.top(ranking, identity),
        *comparison.parts(ranking, [other.ranking for other in others], identity),
    ]
    blocks += [
        options.part(first, option, f"{identity}-o{place}")
        for place, option in enumerate(ranking.options, 1)
    ]
    blocks += certainty.parts(ranking, identity)
    whole = d.Section(d.run(d.Name(ranking.title)), identity, tuple(blocks), level=1)
    return d.Sheet(ranking.title, summary.running(ranking), (whole,))


def write(sources: Sequence[Source]) -> str:
    """Write the page.

    Parameters:
        sources: at least one dataset; the first is the one decided on.
    """
    return html.page(sheet(sources))
