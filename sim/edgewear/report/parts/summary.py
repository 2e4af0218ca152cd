"""The first screen of a report: title block, headline, ranked table, margins side by side."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from edgewear.cautions import LAW_FIRST, PROJECTION
from edgewear.dataset.ranking.model import OptionResult, Ranking
from edgewear.report.drawings import margins
from edgewear.report.formats import document as d
from edgewear.report.parts import decided, words
from edgewear.terms import EXTRAPOLATED

ON_PAPER = ("revision", "author", "checker", "survey date")
"""What a scenario may say about itself, printed on every page."""


def about(scenario: Mapping[str, Any]) -> dict[str, str]:
    """Give what a scenario says about itself; "not stated" where it says nothing."""
    stated = scenario.get("notes") or {}
    return {key: str(stated.get(key) or "not stated") for key in ON_PAPER}


def running(ranking: Ranking) -> tuple[str, ...]:
    """Give what stands on every printed page."""
    stated = [f"{key} {value}" for key, value in about(ranking.scenario).items()]
    unusual = [] if ranking.setting == "industrial" else [words.setting(ranking.setting)]
    return (ranking.title, *unusual, *stated, f"input {ranking.scenario_sha256[:12]}")


def top(ranking: Ranking, identity: str) -> list[d.Block]:
    """Give the summary: what a reader must know who reads no further."""
    return [
        d.Paragraph(d.run(d.Strong(ranking.headline)), "lead"),
        d.Paragraph(d.run(d.Strong(PROJECTION), " " + LAW_FIRST), "caution"),
        table(ranking),
        d.Paragraph(
            (
                "Sheath left at the end of the plan, nobody reacting. Careful: 19 of 20 trials "
                "leave more (5th percentile); good end: 95th. Whether a person is caught comes "
                "before the level of control, and that before the sheath left.",
            ),
            "note",
        ),
        *(d.Paragraph((note,), "note") for note in ranking.notes),
        *_minded(ranking),
        d.Figure(
            margins.draw(ranking, f"{identity}-margins"),
            ("Heavy bar: careful end, dot: middle, light bar: good end, dotted line: target.",),
            f"{identity}-sheath-left",
            wide=True,
        ),
    ]


def _minded(ranking: Ranking) -> list[d.Block]:
    """Give what holds for several options, each once."""
    said = decided.shared(ranking, warnings=True)
    points = tuple((d.Name(text),) for text in said)
    return [d.Paragraph(d.run(d.Strong("Mind"))), d.Listing(points)] if points else []


def band(option: OptionResult) -> int:
    """Give the band an option must never be sorted out of: group, what puts it behind, level."""
    return option.group * 100 + option.behind * 10 + option.level


def status(option: OptionResult) -> str:
    """Give an option's status as one text, inputs outside the observations by their distance."""
    return _graded(option, option.status)


def status_among(ranking: Ranking, option: OptionResult) -> str:
    """Give the same without a mark that every option carries."""
    return _graded(option, decided.row_status(ranking, option))


def _graded(option: OptionResult, statuses: Sequence[str]) -> str:
    far = option.outside[0].far if option.outside else None
    graded = {None: EXTRAPOLATED, True: f"{EXTRAPOLATED}, far", False: f"{EXTRAPOLATED}, not far"}
    return words.STATUS_JOIN.join(
        graded[far] if status == EXTRAPOLATED else status for status in statuses
    )


def table(ranking: Ranking) -> d.Table:
    """Give the ranked table."""
    columns = (
        d.Column("rank"),
        d.Column("option"),
        d.Column("status"),
        d.Column("level of control"),
        d.Column("careful", True),
        d.Column("middle", True),
        d.Column("good end", True),
        d.Column("core visible", True),
    )
    return d.Table(
        f"Options in order; target {words.percent(ranking.target)} sheath left at the careful end, "
        f"{ranking.replicates} trials each",
        columns,
        tuple(_row(ranking, option) for option in ranking.options),
        name_column=1,
        bands=tuple(band(option) for option in ranking.options),
    )


def _row(ranking: Ranking, option: OptionResult) -> tuple[d.Cell, ...]:
    values = (None,) * 3 if option.margin is None else words.as_tuple(option.margin)
    figures = zip(words.margins(option), values, strict=True)
    return (
        d.cell(_place(ranking, option), float(option.order)),
        d.cell(d.Name(option.name)),
        d.cell(d.Strong(status_among(ranking, option))),
        d.cell(option.control),
        *(d.cell(text, value) for text, value in figures),
        d.cell(option.p_core_visible_words or words.NOTHING, option.p_core_visible),
    )


def _place(ranking: Ranking, option: OptionResult) -> str:
    """Give an option's rank, with "=" where it shares it, or say that it has none."""
    tie = "=" if decided.tied(ranking.options, option) else ""
    return f"{words.place(option)}{tie}"


def title_block(ranking: Ranking) -> d.Facts:
    """Give the facts a drawing office prints in the corner of a sheet."""
    stated = about(ranking.scenario)
    return d.Facts(
        (
            ("setting", (words.setting(ranking.setting),)),
            *((key, d.run(d.Name(value))) for key, value in stated.items()),
            ("input", (ranking.scenario_sha256[:12],)),
        )
    )
