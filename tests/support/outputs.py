"""A ranking in everything that people read of it."""

from __future__ import annotations

import io

from edgewear.dataset.ranking.model import Ranking
from edgewear.report import page, print_ranking
from edgewear.report.formats import markdown
from edgewear.report.parts import card
from support import rankings


def in_terminal(ranking: Ranking) -> str:
    """What a terminal shows of it."""
    stream = io.StringIO()
    print_ranking(ranking, stream)
    return stream.getvalue()


READ = {
    "terminal": in_terminal,
    "page": lambda of: page.write([rankings.source_of(of)]),
    "markdown": lambda of: markdown.write(page.sheet([rankings.source_of(of)])),
    "card": lambda of: card.write(of, of.options[0]),
}
