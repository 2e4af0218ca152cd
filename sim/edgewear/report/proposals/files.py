"""Ways of rigging that were tried, as a page, a table for a spreadsheet, a document and YAML."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from pathlib import Path

from edgewear.cautions import LAW_FIRST, PROJECTION
from edgewear.findings.inquiries.proposals import Proposal, Proposals
from edgewear.report.formats import document as d
from edgewear.report.formats.table_csv import neutral, number
from edgewear.report.parts import not_counted, words
from edgewear.report.proposals.terminal import headline, pasted
from edgewear.report.write import write_answer, write_files

COLUMNS = (
    "place", "option", "status", "control", "left", "meets", "trials", "why_not_rigged", "target",
    "text", "caution",
)  # fmt: skip


def write_proposals(found: Proposals, count: int, out: Path) -> Path:
    """Write page, table, document and `options.yaml`, and give the path of the page.

    Parameters:
        found: everything tried; count: how many to paste.
        out: folder, made where it is missing; older files of the same names are replaced.

    Raises:
        CannotCreate, CannotWrite: the folder or a file cannot be written.
    """
    page = write_answer(out, "proposals", sheet(found, count), table(found), found.as_json())
    write_files(out, {"options.yaml": pasted(found.best(count)).encode()})
    return page


def table(found: Proposals) -> str:
    """Write one row for each way that was tried, those that cannot be rigged last."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for place, one in enumerate(found.tried, 1):
        status, meets = neutral(words.STATUS_JOIN.join(one.status)), "yes" if one.meets else "no"
        writer.writerow(
            [place, neutral(one.name), status, neutral(one.control), number(one.left), meets,
             one.trials, "", number(found.target), neutral(one.text), _caution(one)]
        )  # fmt: skip
    for name, reason in found.refused:
        writer.writerow(
            ["", neutral(name), "", "", "", "no", "", neutral(reason), number(found.target), "",
             _caution(None)]
        )  # fmt: skip
    return stream.getvalue()


def _caution(one: Proposal | None) -> str:
    hot = not_counted.hot_at({"": one.melts if one else ()})
    return " ".join((PROJECTION, LAW_FIRST, *(f"{text}." for text in hot)))


def sheet(found: Proposals, count: int) -> d.Sheet:
    """Put the page together: what was tried in order, the best to paste, what cannot be rigged.

    Parameters: `count`: how many to paste.
    """
    blocks: list[d.Block] = [
        d.Paragraph((headline(found),), "over"),
        d.Paragraph(d.run(d.Strong(PROJECTION), " " + LAW_FIRST), "caution"),
        _tried(found),
        *_hot(found),
    ]
    if best := found.best(count):
        named = "To paste below options:, to be checked and compared there"
        blocks.append(d.Section((named,), "paste", (d.Code(pasted(best)),)))
    if found.refused:
        lines = tuple((d.Name(name), f": {reason}") for name, reason in found.refused)
        blocks.append(d.Section(("Not rigged",), "refused", (d.Listing(lines),)))
    cautions = d.Listing(tuple((text,) for text in found.cautions))
    blocks.append(d.Section(("Cautions",), "cautions", (cautions,)))
    whole = d.Section(d.run(d.Name(found.title)), "top", tuple(blocks), level=1)
    return d.Sheet(found.title, (found.title, "ways of rigging"), (whole,))


def _tried(found: Proposals) -> d.Table:
    heads = ("Place", "Way of rigging", "Status", "Level of control", "Left at the careful end")
    rows = tuple(tuple(map(d.cell, _row(place, one))) for place, one in enumerate(found.tried, 1))
    return d.Table("Tried, in the order of a comparison", tuple(map(d.Column, heads)), rows)


def _hot(found: Proposals) -> list[d.Block]:
    """Say what is in none of these figures, and of which ways of rigging that holds."""
    hot = not_counted.hot_at({one.name: one.melts for one in found.tried})
    return [
        d.Paragraph((f"{text}. So it is for: ", *_names(names)), "note")
        for text, names in hot.items()
    ]


def _names(names: Sequence[str]) -> Iterator[d.Inline]:
    for place, name in enumerate(names):
        yield from ("; " * bool(place), d.Name(name))


def _row(place: int, one: Proposal) -> tuple[d.Inline, ...]:
    status = words.STATUS_JOIN.join(one.status)
    return str(place), d.Name(one.name), status, one.control, words.left(one.left)
