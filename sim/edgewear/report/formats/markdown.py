"""A document as Markdown, for pasting where only text goes."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from edgewear.report.formats import document as d
from edgewear.report.formats.escape import cleaned

_SIGNS = re.compile(r"([\\`*_{}\[\]<>|#~$!])")


def escaped(text: str) -> str:
    """Keep a text from being read as Markdown or markup."""
    one_line = " ".join(cleaned(text).split())
    whole = _SIGNS.sub(r"\\\1", one_line.replace("&", "&amp;"))
    spaced = " " if text[:1].isspace() else ""
    trailing = " " if text[-1:].isspace() and one_line else ""
    return spaced + whole + trailing


def write(sheet: d.Sheet) -> str:
    """Write a whole document.

    Parameters:
        sheet: what it says; its pictures are expected in the folder `pictures`.
    """
    lines = [*_blocks(sheet.blocks), "---", "", escaped(" · ".join(sheet.running))]
    return re.sub(r"\n{3,}", "\n\n", "\n".join(lines)).strip() + "\n"


def _blocks(blocks: Iterable[d.Block]) -> Iterator[str]:
    for block in blocks:
        yield from _block(block)
        yield ""


def _block(block: d.Block) -> Iterator[str]:
    match block:
        case d.Section():
            yield f"{'#' * block.level} {_inline(block.title)}"
            yield ""
            yield from _blocks(block.blocks)
        case d.Paragraph():
            mark = "> " if block.kind == "caution" else ""
            yield mark + _start(_inline(block.run))
        case d.Listing():
            yield from (f"- {_inline(point)}" for point in block.points)
        case d.Facts():
            yield from (f"- {escaped(word)}: {_inline(meaning)}" for word, meaning in block.pairs)
        case d.Table():
            yield from _table(block)
        case d.Figure():
            yield f"![{_inline(block.caption)}](pictures/{block.name}.svg)"
        case d.Pair():
            yield from _blocks(block.figures)
        case d.Code():
            yield from (f"    {line}" for line in cleaned(block.text).splitlines())
        case d.Fold():
            yield f"**{escaped(block.title)}**"
            yield ""
            yield from _blocks(block.blocks)


def _start(text: str) -> str:
    """Keep a paragraph from beginning like a list or a heading."""
    return re.sub(r"^(\d+)([.)])", r"\1\\\2", re.sub(r"^([-+=])", r"\\\1", text))


def _inline(run: d.Run) -> str:
    pieces = []
    for piece in run:
        if isinstance(piece, d.Strong):
            after = " " if piece.text[-1:].isspace() else ""
            pieces.append(f"**{escaped(piece.text).strip()}**{after}")
        else:
            pieces.append(escaped(piece if isinstance(piece, str) else piece.text))
    return "".join(pieces).strip()


def _table(table: d.Table) -> Iterator[str]:
    yield f"{escaped(table.caption)}:"
    yield ""
    yield "| " + " | ".join(escaped(column.title) for column in table.columns) + " |"
    yield "| " + " | ".join("---:" if column.figures else "---" for column in table.columns) + " |"
    for row in table.rows:
        yield "| " + " | ".join(_inline(cell.run) for cell in row) + " |"
