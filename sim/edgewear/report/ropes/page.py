"""One rope's life as a page: how it stands, wear along its length, every entry."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from edgewear.report.formats import document as d
from edgewear.report.formats import html
from edgewear.report.ropes import chart
from edgewear.report.ropes import words as rope_words
from edgewear.report.write import write_files

Row = Mapping[str, Any]


def write_rope(document: Row, out: Path) -> Path:
    """Write a rope's page into a folder and give its path.

    Parameters:
        document: `edgewear.rope/1`.
        out: folder, made where it is missing.

    Raises:
        CannotCreate, CannotWrite: the folder or the file cannot be written.
    """
    name = re.sub(r"[^\w.-]+", "-", document["rope"]).strip("-.") or "rope"
    write_files(out, {f"{name}.html": html.page(sheet(document)).encode()})
    return out / f"{name}.html"


def sheet(document: Row) -> d.Sheet:
    """Put the page together.

    Parameters:
        document: `edgewear.rope/1`.
    """
    rope = str(document["rope"])
    picture = d.Figure(
        chart.draw(document, "wear-along"),
        ("Sheath worn along the rope: the middle thin, the careful end heavy. A projection.",),
        "wear-along",
        wide=True,
    )
    parts = (
        ("Why", "why", _listing(map(rope_words.reason, document["reasons"]))),
        ("Wear along the rope", "wear", (picture,)),
        ("What inspections corrected", "corrected", _looks(document)),
        ("Every entry", "entries", (_entries(document),)),
        ("Cautions", "cautions", _listing(document["cautions"])),
    )
    blocks: list[d.Block] = [
        d.Paragraph(("A rope's record",), "over"),
        _facts(document),
        d.Paragraph(d.run(d.Strong(document["cautions"][0]), " " + document["cautions"][1]),
                    "caution"),
        *(d.Section((title,), name, tuple(inside)) for title, name, inside in parts if inside),
    ]  # fmt: skip
    running = (rope, rope_words.standing(document), f"printed {document['today']}")
    whole = d.Section(d.run(d.Name(rope)), "top", tuple(blocks), level=1)
    return d.Sheet(rope, running, (whole,))


def _facts(document: Row) -> d.Facts:
    body, head = document["register"], document["head"]
    known = {
        "kind": document["like"],
        "cut from": rope_words.cut_from(document) or "nothing that anybody said",
        "batch": body.get("batch"),
        "made": document["made"],
        "first use": document["first_use"],
    }
    return d.Facts((
        ("stands", (d.Strong(rope_words.standing(document)),)),
        ("last seen", (d.Name(rope_words.last_look(document)),)),
        ("next date that asks for something", (document["next_on"] or "none known",)),
        ("length", (f"{document['length_m']:g} m",)),
        *((word, (d.Name(str(value or "unknown")),)) for word, value in known.items()),
        ("jobs", (str(document["jobs"]),)),
        ("sheath worn, most anywhere", (rope_words.interval(document["wear"]),)),
        ("record up to entry", (f"{head['entry']}, hash {head['hash'][:16]}",)),
    ))  # fmt: skip


def _listing(points: Iterable[str]) -> tuple[d.Block, ...]:
    found = tuple((d.Name(str(text)),) for text in points)
    return (d.Listing(found),) if found else ()


def _looks(document: Row) -> tuple[d.Block, ...]:
    told = (f"Entry {row['entry']}, {row['finding']}: {rope_words.look(row)}."
            for row in document["looks"])  # fmt: skip
    return _listing(told)


def _entries(document: Row) -> d.Table:
    heads = ("entry", "on", "what", "", "by", "hash")
    columns = tuple(d.Column(head or "said", place == 0) for place, head in enumerate(heads))
    rows = tuple(
        (
            d.cell(str(row["number"])),
            d.cell(row["on"]),
            d.cell(rope_words.KINDS[row["kind"]] + (", corrected" if row["corrected"] else "")),
            d.cell(d.Name(rope_words.entry(row))),
            d.cell(d.Name(row["by"])),
            d.cell(row["hash"][:12]),
        )
        for row in document["entries"]
    )
    return d.Table("Nothing here is ever changed or deleted", columns, rows)
