"""Which inputs decide an outcome, as a page, a table for a spreadsheet, and a document."""

from __future__ import annotations

import csv
import io
from pathlib import Path

from edgewear.cautions import LAW_FIRST, PROJECTION
from edgewear.findings.inquiries.what_matters import OptionInfluences, WhatMatters
from edgewear.report.formats import document as d
from edgewear.report.formats.table_csv import neutral, number
from edgewear.report.what_matters import pictures
from edgewear.report.what_matters import words as said
from edgewear.report.write import write_answer

SHARES = ("alone", "alone_low", "alone_high", "in_all", "in_all_low", "in_all_high")
COLUMNS = ("option", "input", "group", *SHARES, "leaves_less", "goes_with", "caution")


def write_what_matters(found: WhatMatters, out: Path) -> Path:
    """Write page, table and document into a folder and give the path of the page.

    Parameters:
        found: what was found.
        out: folder, made where it is missing; older files of the same names are replaced.

    Raises:
        CannotCreate, CannotWrite: the folder or a file cannot be written.
    """
    return write_answer(out, "what-matters", sheet(found), table(found), found.as_json())


def table(found: WhatMatters) -> str:
    """Write one row an option and input."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for option in found.options:
        for one in option.inputs:
            shares = [
                s for part in (one.alone, one.total) for s in (part.value, part.low, part.high)
            ]
            named = neutral(option.option), neutral(one.address), one.group
            last = one.worse, neutral(one.along_with), f"{PROJECTION} {LAW_FIRST}"
            writer.writerow([*named, *map(number, shares), *last])
    return stream.getvalue()


def sheet(found: WhatMatters) -> d.Sheet:
    """Put the page together: each option with its bars, the two most important inputs, a table."""
    parts = [
        d.Section((d.Name(one.option),), f"option-{at}", tuple(_option(one, found, at)))
        for at, one in enumerate(found.options, 1)
    ]
    blocks: list[d.Block] = [
        d.Paragraph((said.headline(found),), "over"),
        d.Paragraph(d.run(d.Strong(PROJECTION), " " + LAW_FIRST), "caution"),
        d.Paragraph((said.EXPLAINED,), "note"),
        *([d.Paragraph((said.TOGETHER,), "note")] if _together(found) else []),
        *parts,
        *([_left_out(found)] if found.left_out else []),
        d.Section(("Cautions",), "cautions", (d.Listing(tuple((t,) for t in found.cautions)),)),
    ]
    whole = d.Section(d.run(d.Name(found.title)), "top", tuple(blocks), level=1)
    return d.Sheet(found.title, (found.title, "which inputs decide"), (whole,))


def _together(found: WhatMatters) -> bool:
    """Tell whether any inputs go together."""
    return any(one.along_with for option in found.options for one in option.inputs)


def _left_out(found: WhatMatters) -> d.Section:
    listed = d.Listing(tuple((one.words,) for one in found.left_out))
    return d.Section((said.LEFT_OUT,), "left-out", (listed,))


def _option(one: OptionInfluences, found: WhatMatters, at: int) -> list[d.Block]:
    bars = pictures.bars(one, f"bars-{at}")
    courses = tuple(
        d.Figure(
            pictures.over(one.option, address, values, outcome, f"over-{at}-{number_}"),
            ("Each dot a row; ", d.Name(address), ", in SI"),
            f"over-{at}-{number_}",
        )
        for number_, (address, values, outcome) in enumerate(one.samples, 1)
    )
    blocks: list[d.Block] = [
        d.Paragraph((f"{said.spread(one, found)}.",)),
        d.Listing(tuple((text,) for text in said.groups(one))),
        d.Figure(bars, ("Bars below: what so few rows leave open (90 %)",), f"bars-{at}"),
        *([d.Pair(courses)] if courses else []),
        d.Paragraph((said.unexplained(one),)),
        d.Fold("Every input", (_all(one),), printed=True),
    ]
    return blocks


def _all(one: OptionInfluences) -> d.Table:
    columns = tuple(map(d.Column, ("Input", "Better known by", "Alone", "In all", "Leaves less")))
    rows = tuple(
        tuple(
            d.cell(part)
            for part in (
                d.Name(i.address),
                i.group,
                said.share(i.alone),
                said.share(i.total),
                i.worse or "no clear way",
            )
        )
        for i in one.inputs
    )
    return d.Table("Every input that varies", columns, rows)
