"""Datasets beside each other: this survey and earlier ones, with what changed between them."""

from __future__ import annotations

import difflib
from collections.abc import Sequence

from edgewear.dataset.ranking.model import OptionResult, Ranking
from edgewear.report.formats import document as d
from edgewear.report.parts import summary, words

MOST_LINES = 120
"""Changed lines of the input that are shown; the rest is counted."""


def parts(now: Ranking, earlier: Sequence[Ranking], identity: str) -> list[d.Block]:
    """Give, for each other dataset, its figures beside the first one's and what changed.

    Parameters:
        now: the dataset decided on.
        earlier: the others, in the order given.
        identity: prefix of the identities used.
    """
    return [
        d.Section(
            d.run("Beside: ", d.Name(then.title)),
            f"{identity}-beside{place}",
            (
                d.Paragraph(
                    d.run(
                        f"Input {then.scenario_sha256[:12]}, survey date ",
                        d.Name(summary.about(then.scenario)["survey date"]),
                        f", {then.replicates} trials an option. ",
                        d.Strong(then.headline),
                    )
                ),
                _table(now, then),
                *_changed(now, then),
            ),
        )
        for place, then in enumerate(earlier, 1)
    ]


def _table(now: Ranking, then: Ranking) -> d.Table:
    names = list(dict.fromkeys([o.name for o in now.options] + [o.name for o in then.options]))
    columns = (
        d.Column("option"),
        d.Column("status then"),
        d.Column("status now"),
        d.Column("careful then", True),
        d.Column("careful now", True),
        d.Column("middle then", True),
        d.Column("middle now", True),
    )
    rows = tuple(_row(name, _found(then, name), _found(now, name)) for name in names)
    return d.Table(
        "Sheath left then and now; the two did not meet the same trials",
        columns,
        rows,
        sortable=False,
    )


def _found(ranking: Ranking, name: str) -> OptionResult | None:
    return next((option for option in ranking.options if option.name == name), None)


def _row(name: str, then: OptionResult | None, now: OptionResult | None) -> tuple[d.Cell, ...]:
    was, is_ = _margins(then), _margins(now)
    return (
        d.cell(d.Name(name)),
        d.cell(summary.status(then) if then else "was not compared"),
        d.cell(d.Strong(summary.status(now)) if now else "is not compared"),
        d.cell(was[0]),
        d.cell(is_[0]),
        d.cell(was[1]),
        d.cell(is_[1]),
    )


def _margins(option: OptionResult | None) -> tuple[str, str, str]:
    return (words.NOTHING,) * 3 if option is None else words.margins(option)


def _changed(now: Ranking, then: Ranking) -> list[d.Block]:
    pairs: list[tuple[str, d.Run]] = []
    for word, was, is_ in (
        ("target", words.percent(then.target), words.percent(now.target)),
        ("setting", then.setting, now.setting),
        ("seed", str(then.seed), str(now.seed)),
        ("trials an option", str(then.replicates), str(now.replicates)),
        *(
            (key, str(then.provenance.get(key)), str(now.provenance.get(key)))
            for key in sorted({*then.provenance, *now.provenance})
        ),
    ):
        if was != is_:
            pairs.append((word, d.run(d.Name(was), " then, ", d.Name(is_), " now")))
    blocks: list[d.Block] = [d.Facts(tuple(pairs))] if pairs else []
    lines = difference(then.scenario_text, now.scenario_text)
    if not lines:
        return [*blocks, d.Paragraph(("The input is the same, word for word.",))]
    shown = "\n".join(lines[:MOST_LINES])
    rest = len(lines) - MOST_LINES
    title = "Changed lines of the input: - then, + now"
    more = [d.Paragraph((f"{rest} more changed lines.",))] if rest > 0 else []
    return [*blocks, d.Fold(title, (d.Code(shown), *more), printed=True)]


def difference(then: str, now: str) -> list[str]:
    """Give the changed lines of two texts, each marked "-" (then) or "+" (now)."""
    lines = difflib.ndiff(then.splitlines(), now.splitlines())
    return [line for line in lines if line[:1] in "-+"]
