"""The ranked table for a spreadsheet, with its status and cautions in every row."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

from edgewear.cautions import LAW_FIRST, PROJECTION, RETIRE
from edgewear.dataset.ranking.model import OptionResult, Quantiles, Ranking
from edgewear.report.parts import not_counted, rigged_words, sentences, words

COLUMNS = (
    "setting",
    "order",
    "rank",
    "option",
    "status",
    "control",
    "margin_p5",
    "margin_p50",
    "margin_p95",
    "target",
    "core_visible",
    "p_core_visible",
    "p_best",
    "unfinished",
    "anchor_peak_n_p50",
    "anchor_peak_n_p95",
    "stretch_m_p50",
    "stretch_m_p95",
    "why",
    "mind",
    "parts",
    "caution",
)
FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "|", "%")


def neutral(text: str) -> str:
    """Keep a text from being read as a formula."""
    return f"'{text}" if text.lstrip(" \u00a0\ufeff").startswith(FORMULA) else text


def number(value: float | None) -> str:
    """Give a number with 5 significant digits, nothing for None."""
    return "" if value is None else f"{value:.5g}"


def table(ranking: Ranking) -> str:
    """Write the table."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    melts, stuck = not_counted.melts(ranking), not_counted.stuck(ranking)
    for option in ranking.options:
        left_out = {**not_counted.hot_at({option.name: melts[option.name]}), **stuck}
        texts = [text for text, names in left_out.items() if option.name in names]
        writer.writerow([ranking.setting, *_row(option, ranking.target, texts)])
    return stream.getvalue()


def _row(option: OptionResult, target: float, left_out: Sequence[str]) -> list[str]:
    """A row; left_out: what its numbers leave out."""
    margin = option.margin or Quantiles(None, None, None)
    return [
        str(option.order),
        "" if option.rank is None else str(option.rank),
        neutral(option.name),
        words.STATUS_JOIN.join(option.status),
        option.control,
        *map(number, words.as_tuple(margin)),
        number(target),
        neutral(option.p_core_visible_words),
        number(option.p_core_visible),
        number(option.p_best),
        str(option.unfinished),
        number(option.anchor_peak_n.p50),
        number(option.anchor_peak_n.p95),
        number(option.stretch_m.p50),
        number(option.stretch_m.p95),
        neutral(option.why),
        neutral("; ".join([*rigged_words.mind(option.facts), *left_out])),
        neutral("; ".join(sentences.parts(option))),
        f"{PROJECTION} {LAW_FIRST} {RETIRE}",
    ]
