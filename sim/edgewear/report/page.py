"""The report of one or several datasets as a document, and its page."""

from __future__ import annotations

from collections.abc import Sequence

from . import document as d
from . import html, method, options, summary
from .sources import Source


def sheet(sources: Sequence[Source]) -> d.Sheet:
    """Put the document together.

    Parameters:
        sources: at least one dataset; the first is the one decided on.
    """
    first = sources[0].ranking
    blocks: list[d.Block] = []
    for place, source in enumerate(sources, 1):
        blocks.append(_dataset(source, f"d{place}"))
    return d.Sheet(first.title, summary.running(first), tuple(blocks))


def _dataset(source: Source, identity: str) -> d.Section:
    ranking = source.ranking
    blocks: list[d.Block] = [
        d.Paragraph(("Ways to rig a job, compared by the sheath they would leave",), "over"),
        summary.title_block(ranking),
        *summary.top(ranking, identity),
    ]
    blocks += [
        options.part(source, option, f"{identity}-o{place}")
        for place, option in enumerate(ranking.options, 1)
    ]
    blocks += method.parts(ranking, identity)
    return d.Section(d.run(d.Name(ranking.title)), identity, tuple(blocks), level=1)


def write(sources: Sequence[Source]) -> str:
    """Write the page.

    Parameters:
        sources: at least one dataset; the first is the one decided on.
    """
    return html.page(sheet(sources))
