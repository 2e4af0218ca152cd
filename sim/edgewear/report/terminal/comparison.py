"""A comparison on a terminal of 80 columns, plain when piped."""

from __future__ import annotations

from pathlib import Path
from typing import TextIO

from edgewear.cautions import LAW_FIRST, PROJECTION, for_status
from edgewear.dataset.ranking.model import OptionResult, Ranking
from edgewear.report.parts import decided, option_details, sentences, words
from edgewear.report.terminal.console import Console, display_width, fill, pad
from edgewear.terms import NOT_ACCEPTABLE

FIGURES = "  careful  middle  good end  core visible"
"""Headings of the figures; each figure stands below the end of its heading."""

ENDS = (9, 8, 10, 14)
"""Columns that each of them takes."""

NAMES, LEFT = "rank option", " sheath left:"
INDENT = 5
NARROW = len(NAMES + LEFT + FIGURES)
"""Columns below which figures stand under the name, not beside it."""


def print_ranking(ranking: Ranking, stream: TextIO, width: int = 80, details: bool = False) -> None:
    """Write a comparison: one row an option, what all share, a paragraph an option, cautions.

    Parameters:
        ranking: what to print.
        stream: text.
        width: columns.
        details: also what lies behind each option: looks, loads, edges, why not a higher level.
    """
    console = Console(stream, width)
    console.text(ranking.title, strong=True)
    console.text(
        f"{words.setting(ranking.setting)}; target {words.percent(ranking.target)} left at the "
        f"careful end; {ranking.replicates} trials each, seed {ranking.seed}"
    )
    console.line()
    console.text(ranking.headline, strong=True)
    console.text(f"{PROJECTION} {LAW_FIRST}")
    console.line()
    _table(console, ranking, details)
    _shared(console, ranking)
    for place, option in enumerate(ranking.options):
        if place == 0 or details:
            console.line()
        _paragraph(console, option, details)
    console.heading("Cautions")
    told = (PROJECTION, LAW_FIRST, *for_status([NOT_ACCEPTABLE]))  # the last by its own status
    for caution in decided.cautions(ranking, told):
        console.text(caution, "- ", "  ")
    console.line()
    if ranking.report and Path(ranking.report).parent == Path(ranking.dataset):
        said, path = "page, beside its dataset:", str(ranking.report)
        if display_width(f"{said} {path}") <= console.width:
            console.line(f"{said} {path}")
        else:  # a path in pieces cannot be copied
            console.line(said)
            console.line(path)
        return
    if ranking.report:
        console.line(f"page     {ranking.report}")
    console.line(f"dataset  {ranking.dataset}")


def _table(console: Console, ranking: Ranking, details: bool) -> None:
    room = console.width - len(FIGURES) - INDENT
    if console.width >= NARROW:
        title = pad(NAMES, INDENT + room - len(LEFT)) + LEFT
        console.line(title + FIGURES)
    for option in ranking.options:
        _row(console, ranking, option, room)
    more = "" if details else " --details says more."
    console.text(f"careful = 5th percentile, middle = median, good end = 95th.{more}")
    for note in ranking.notes:
        console.text(note, "- ", "  ")


def _row(console: Console, ranking: Ranking, option: OptionResult, room: int) -> None:
    tie = "=" if decided.tied(ranking.options, option) else ""
    rank = f"{words.NOTHING if option.rank is None else option.rank}{tie}"
    first, rest = f"{pad(rank, INDENT - 2, right=True)}  ", " " * INDENT
    if console.width < NARROW:
        console.text(option.name, first, rest, strong=True)
        console.text(_figures_told(option), rest)
    else:
        names = fill(option.name, INDENT + room, first, rest)
        console.line(pad(names[0], INDENT + room) + _figures(option), strong=True)
        for name in names[1:]:
            console.line(name, strong=True)
    console.text(_status_row(console.width - INDENT, ranking, option), rest)


def _status_row(room: int, ranking: Ranking, option: OptionResult) -> str:
    """Give status, level and what decides, without the edge where that needs a second line."""
    statuses = words.STATUS_JOIN.join(decided.row_status(ranking, option))
    for edge in (True, False):
        said = [statuses, decided.level(option), decided.decided(ranking, option, edge)]
        row = " | ".join(part for part in said if part)
        if display_width(row) <= room:
            break
    return row


def _figures(option: OptionResult) -> str:
    if option.margin is None:
        return pad("no wear number given", sum(ENDS[:3]), right=True) + pad(_core(option), 14, True)
    shown = [words.NOTHING if text == words.NONE_GIVEN else text for text in words.margins(option)]
    cells = zip([*shown, _core(option)], ENDS, strict=True)
    return "".join(pad(text, wide, right=True) for text, wide in cells)


def _figures_told(option: OptionResult) -> str:
    if option.margin is None:
        return "no wear number given"
    careful, middle, best = words.margins(option)
    return (
        f"sheath left: careful {careful}, middle {middle}, good end {best}; core visible "
        f"{_core(option)}"
    )


def _core(option: OptionResult) -> str:
    return words.NOTHING if option.p_core_visible is None else option.p_core_visible_words


def _shared(console: Console, ranking: Ranking) -> None:
    """Write what holds for every option, and what to mind of some, each once."""
    said = decided.shared(ranking)
    if said:
        console.heading("Mind")
    for text in said:
        console.text(text, "- ", "  ")


def _paragraph(console: Console, option: OptionResult, details: bool) -> None:
    """Write what an option does in a sentence or two; with details also what lies behind it."""
    console.text(option.name, strong=True)
    said = [decided.course(option), decided.first_look(option), decided.parts(option)]
    console.text(" ".join(part for part in said if part), "  ")
    if option.failed:
        console.text(sentences.failures(option), "  ")
    if details:
        for label, text in option_details.details(option):
            console.text(f"{label}: {text}", "  ", "    ")
