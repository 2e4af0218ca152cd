"""How far inputs may go as a page, a table for a spreadsheet, and a document."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from pathlib import Path

from edgewear.cautions import LAW_FIRST, PROJECTION
from edgewear.findings.inquiries.how_far import HowFar, Limit, Stretch
from edgewear.report.formats import document as d
from edgewear.report.formats.table_csv import neutral, number
from edgewear.report.how_far import course, region
from edgewear.report.how_far import words as said
from edgewear.report.write import write_answer

COLUMNS = (
    "option",
    "input",
    "at",
    "at_value",
    "unit",
    "present",
    "meets_now",
    "from",
    "from_cautious",
    "to",
    "to_cautious",
    "tried_from",
    "tried_to",
    "target",
    "trials",
    "in_words",
    "caution",
)


NO_FIGURES = (None,) * 4


def write_how_far(found: HowFar, out: Path) -> Path:
    """Write page, table and document into a folder and give the path of the page.

    Parameters:
        found: what was found.
        out: folder, made where it is missing; older files of the same names are replaced.

    Raises:
        CannotCreate, CannotWrite: the folder or a file cannot be written.
    """
    return write_answer(out, "how-far", sheet(found), table(found), found.as_json())


def table(found: HowFar) -> str:
    """Write one row for each range that meets the target, one without figures where none does."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for one in found.limits:
        for stretch in one.stretches or (None,):
            writer.writerow(_row(found, one, stretch))
    return stream.getvalue()


def _row(found: HowFar, one: Limit, stretch: Stretch | None) -> list[str]:
    ends = () if stretch is None else (stretch.least, stretch.most)
    figures: list[float | None] = [value for end in ends for value in (end.inside, end.cautious)]
    return [
        neutral(one.option),
        neutral(one.address),
        neutral(one.given.address) if one.given else "",
        number(one.given.value) if one.given else "",
        one.unit,
        number(one.present),
        {True: "yes", False: "no", None: ""}[one.meets_now],
        *map(number, figures or NO_FIGURES),
        *map(number, one.tried),
        number(found.target),
        str(found.replicates),
        neutral(said.limit(one)),
        " ".join((PROJECTION, LAW_FIRST, *said.hot(one))),
    ]


def sheet(found: HowFar) -> d.Sheet:
    """Put the page together: a table of all limits, then each option with its pictures."""
    over = [d.Paragraph((said.headline(found),), "over")]
    over += [d.Paragraph(("Set beside the file: ", d.Name(text))) for text in found.changes]
    over.append(d.Paragraph(d.run(d.Strong(PROJECTION), " " + LAW_FIRST), "caution"))
    parts = [
        d.Section((d.Name(option),), f"option-{place}", tuple(_option(limits, found, place)))
        for place, (option, limits) in enumerate(said.by_option(found), 1)
    ]
    cautions = d.Listing(tuple((text,) for text in found.cautions))
    blocks: list[d.Block] = [
        *over,
        _all(found),
        d.Paragraph((said.explained(found.replicates),), "note"),
        *parts,
        d.Section(("Cautions",), "cautions", (cautions,)),
    ]
    whole = d.Section(d.run(d.Name(found.title)), "top", tuple(blocks), level=1)
    return d.Sheet(found.title, (found.title, "how far inputs may go"), (whole,))


def _all(found: HowFar) -> d.Table:
    columns = tuple(map(d.Column, ("Option", "Input", "Now", "Meets the target")))
    rows = tuple(
        tuple(
            d.cell(one)
            for one in (
                d.Name(limit.option),
                d.Name(said.asked_of(limit)),
                said.present(limit),
                said.limit(limit),
            )
        )
        for limit in found.limits
    )
    return d.Table("What this rigging needs", columns, rows)


def _option(limits: Sequence[Limit], found: HowFar, place: int) -> list[d.Block]:
    blocks: list[d.Block] = []
    for number_, many in enumerate(said.maps(limits), 1):
        picture = region.draw(many, f"region-{place}-{number_}")
        blocks += [_card(many), d.Figure(picture, (region.CAPTION,), f"region-{place}-{number_}")]
    for number_, one in enumerate(limits, 1):
        picture = course.draw(one, found.target, f"course-{place}-{number_}")
        blocks.append(d.Paragraph((d.Name(said.asked_of(one)), f": {said.limit(one)}.")))
        blocks += [d.Paragraph((text,), "note") for text in said.doubts(one)]
        caption = ("Sheath left at the careful end; bars: what so few trials leave open (90 %)",)
        blocks.append(d.Figure(picture, caption, f"how-far-{place}-{number_}"))
    return blocks


def _card(limits: Sequence[Limit]) -> d.Table:
    """One input over a second one, to be copied to a card."""
    first = limits[0]
    heads = (first.given.address if first.given else "", first.address)
    rows = tuple((d.cell(said.given(one)), d.cell(said.limit(one))) for one in limits)
    return d.Table("For the card", tuple(map(d.Column, heads)), rows)
