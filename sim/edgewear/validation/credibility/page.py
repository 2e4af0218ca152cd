"""The page of what we know and how, written from library, observations and scored forecasts."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from pathlib import Path

from edgewear.cautions import CAUTIONS, WEAR_AGREES
from edgewear.findings.learning.scores import Scores
from edgewear.validation.credibility.factors import FACTORS, TOP, Factor, lowest
from edgewear.validation.credibility.numbers import ASSUMED, Number, numbers

HEAD = """\
# What we know and how

Written by `make_what_we_know.py` from the library, the observations and the forecasts that were
scored. It says what stands behind each number, and how far the whole can be believed; it says of
no rope and no job that it will do.
"""

SCORED = """\
## How far it can be believed

The eight factors of NASA-STD-7009 (2008; factors and levels from memory, 0 to {top}), scored by
ourselves. The weakest counts: **{lowest} of {top}**. Nobody outside has looked at these scores.

"""

NO_FORECAST = """\
None. No forecast of this library has been frozen before a test and scored after it, so the law's
discrepancy is opinion. [How to forecast a test](../how-to/forecast-a-test.md).
"""


def what_we_know(scored: Scores | None, root: str = "../..") -> str:
    """Write the page.

    Parameters:
        scored: the shipped library's forecasts; None: there are none.
        root: way from the page to the repository.
    """
    every = list(numbers())
    return "\n".join(
        [
            HEAD,
            *(f"- {caution}" for caution in CAUTIONS),
            "",
            SCORED.format(top=TOP, lowest=lowest()) + _factors(root),
            "## What was observed\n",
            f"The wear law {WEAR_AGREES}.",
            "[The observations](observations.md), one by one, with what the model gets wrong.\n",
            "## Forecasts scored so far\n",
            NO_FORECAST if scored is None else _forecasts(scored),
            "## Every number of the library\n",
            _counted(every),
            *(_section(name, list(rows)) for name, rows in groupby(every, lambda n: n.section)),
        ]
    )


def _factors(root: str) -> str:
    rows = [_factor(one, root) for one in FACTORS]
    head = "| factor | level | what that level means | evidence | missing for the next |"
    return "\n".join([head, "| --- | --- | --- | --- | --- |", *rows, ""])


def _factor(one: Factor, root: str) -> str:
    evidence = "; ".join(
        f"[{words}]({_way(where, root)})" if where else words for words, where in one.evidence
    )
    return f"| {one.name} | {one.level} | {one.means} | {evidence} | {one.missing} |"


def _way(where: str, root: str) -> str:
    """Way from the page, which lies in docs/reference, to a file of the repository."""
    path = Path(where)
    if path.parent == Path("docs/reference"):
        return path.name
    return f"../{path.relative_to('docs')}" if path.parts[0] == "docs" else f"{root}/{where}"


def _forecasts(scored: Scores) -> str:
    """The forecasts of the shipped library, and what they say together."""
    rows = [
        f"| {one.name} | {one.looked_for} | {one.frozen} | {one.on} | "
        f"{'yes' if one.blind else 'no'} | {one.log_score:.2f} |"
        for one in scored.scored
    ]
    head = [
        "| test | looked for | frozen | made | blind | log score |",
        "| --- | --- | --- | --- | --- | --- |",
    ]
    said = []
    if scored.coverage is not None:
        part = scored.coverage
        said.append(
            f"\nInside the central 90 %: {100 * part.value:.0f} of 100 "
            f"({100 * part.low:.0f} to {100 * part.high:.0f}).\n"
        )
    if scored.discrepancy is not None:
        said.append(f"Discrepancy: {scored.discrepancy.verdict}. `{scored.discrepancy.entry}`\n")
    return "\n".join([*head, *rows, *said])


def _counted(every: Sequence[Number]) -> str:
    assumed = sum(one.basis == ASSUMED for one in every)
    return (
        f"{len(every)} numbers that may be off; of {assumed} nobody is named who measured them:\n"
        "they are assumed or from memory. The last column names the test that would tell, where\n"
        "one is known. How accurate a paced, taped or measured figure is taken to be stands in\n"
        "[the library](library.md#accuracy).\n"
    )


def _section(name: str, rows: Sequence[Number]) -> str:
    tested = any(one.test for one in rows)
    titles = ["number", "value", "90 %", "evidence", *(["test that would tell"] if tested else [])]
    lines = [f"### {name}\n", _line(titles), _line(["---"] * len(titles))]
    for one in rows:
        span = "" if one.low == one.high else f"{one.low} to {one.high}"
        cells = [one.address, one.value, span, one.pedigree or "none"]
        lines.append(_line([*cells, *([one.test] if tested else [])]))
    return "\n".join([*lines, ""])


def _line(cells: Sequence[str]) -> str:
    return f"| {' | '.join(cells)} |"
