"""One self-contained page of a document: real tables, inline pictures, a strict security policy."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from importlib import resources

from edgewear.report.formats import document as d
from edgewear.report.formats.escape import markup, style_string


@cache
def asset(name: str) -> str:
    """Read a file that is packed with this room."""
    return resources.files(__package__).joinpath(name).read_text(encoding="utf-8")


def page(
    sheet: d.Sheet,
    styles: Sequence[str] = ("page.css", "picture.css"),
    script: str | None = "sort.js",
) -> str:
    """Write a whole page.

    Parameters:
        sheet: what it says.
        styles: names of its style sheets.
        script: name of its script; None: it has none.
    """
    style = "".join(map(asset, styles)) + _running(sheet.running)
    body = ["<main>", *_blocks(sheet.blocks), "</main>"]
    return shell(sheet.title, style, asset(script) if script else "", body)


def shell(title: str, style: str, script: str, body: Iterable[str]) -> str:
    """Write a page around finished elements, with a policy that lets nothing in or out."""
    policy = "; ".join(
        [
            "default-src 'none'",
            f"style-src '{_digest(style)}'",
            f"script-src '{_digest(script)}'" if script else "script-src 'none'",
            "base-uri 'none'",
            "form-action 'none'",
        ]
    )
    head = [
        '<meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        '<meta name="color-scheme" content="light dark">',
        '<meta name="referrer" content="no-referrer">',
        f"<title>{markup(title)}</title>",
        f"<style>{style}</style>",
    ]
    lines = ["<!DOCTYPE html>", '<html lang="en">', "<head>", *head, "</head>", "<body>", *body]
    tail = [f"<script>{script}</script>"] if script else []
    return "\n".join([*lines, *tail, "</body>", "</html>", ""])


def _digest(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode("ascii")


def _running(running: tuple[str, ...]) -> str:
    """Write the margin boxes that stand on every printed page."""
    if not running:
        return ""
    title, *rest = running
    words = style_string(" · ".join(rest))
    return f"@page{{@top-left{{content:{style_string(title)}}}@bottom-left{{content:{words}}}}}\n"


def inline(run: d.Run) -> str:
    """Write a run of text."""
    return "".join(_piece(piece) for piece in run)


def _piece(piece: d.Inline) -> str:
    if isinstance(piece, d.Name):
        return f"<bdi>{markup(piece.text)}</bdi>"
    if isinstance(piece, d.Strong):
        return f"<strong>{markup(piece.text)}</strong>"
    return markup(piece)


def _blocks(blocks: Iterable[d.Block]) -> Iterator[str]:
    for block in blocks:
        yield from _block(block)


def _block(block: d.Block) -> Iterator[str]:
    match block:
        case d.Section():
            sheet = ' class="sheet"' if block.own_sheet else ""
            yield f'<section id="{block.identity}" aria-labelledby="{block.identity}-h"{sheet}>'
            yield f'<h{block.level} id="{block.identity}-h">{inline(block.title)}</h{block.level}>'
            yield from _blocks(block.blocks)
            yield "</section>"
        case d.Paragraph():
            yield f'<p dir="auto"{_class(block.kind)}>{inline(block.run)}</p>'
        case d.Listing():
            points = "".join(f'<li dir="auto">{inline(point)}</li>' for point in block.points)
            yield f"<ul{_class(block.kind)}>{points}</ul>"
        case d.Facts():
            pairs = (f"<div><dt>{markup(k)}</dt><dd>{inline(v)}</dd></div>" for k, v in block.pairs)
            yield f"<dl>{''.join(pairs)}</dl>"
        case d.Table():
            yield from _table(block)
        case d.Figure():
            yield _figure(block)
        case d.Pair():
            kind = "pair around" if block.lead and len(block.figures) > 1 else "pair"
            yield f'<div class="{kind}">{"".join(map(_figure, block.figures))}</div>'
        case d.Code():
            yield f'<pre tabindex="0">{markup(block.text)}</pre>'
        case d.Fold():
            printed = " data-printed" if block.printed else ""
            yield f"<details{printed}><summary>{markup(block.title)}</summary>"
            yield from _blocks(block.blocks)
            yield "</details>"


def _class(kind: str) -> str:
    return "" if kind == "plain" else f' class="{kind}"'


def _figure(figure: d.Figure) -> str:
    wide = ' class="wide"' if figure.wide else ""
    caption = f"<figcaption>{inline(figure.caption)}</figcaption>"
    if figure.narrow:
        both = f'<div class="broad">{figure.svg}</div><div class="narrow">{figure.narrow}</div>'
        return f"<figure{wide}>{both}{caption}</figure>"
    return f"<figure{wide}>{figure.svg}{caption}</figure>"


def _table(table: d.Table) -> Iterator[str]:
    """Write a table; the roles keep it a table where narrow screens stack its cells."""
    sortable = " data-sortable" if table.sortable and len(table.rows) > 1 else ""
    by_hand = ' class="by-hand"' if table.written_on else ""
    yield f'<table role="table"{by_hand}{sortable}><caption>{markup(table.caption)}</caption>'
    heads = (
        f'<th scope="col" role="columnheader"{_figures(column)}>{markup(column.title)}</th>'
        for column in table.columns
    )
    yield f'<thead role="rowgroup"><tr role="row">{"".join(heads)}</tr></thead>'
    yield '<tbody role="rowgroup">'
    for place, row in enumerate(table.rows):
        band = f' data-band="{table.bands[place]}"' if table.bands else ""
        cells = "".join(_cell(table, index, cell) for index, cell in enumerate(row))
        yield f'<tr role="row"{band}>{cells}</tr>'
    yield "</tbody></table>"


def _figures(column: d.Column) -> str:
    return ' class="figures"' if column.figures else ""


def _cell(table: d.Table, index: int, cell: d.Cell) -> str:
    column = table.columns[index]
    order = "" if cell.order is None else f' data-order="{cell.order:.9g}"'
    shared = f'{order}{_figures(column)} data-label="{markup(column.title)}"'
    if index == table.name_column:
        return f'<th scope="row" role="rowheader"{shared}>{inline(cell.run)}</th>'
    return f'<td role="cell"{shared}>{inline(cell.run)}</td>'


def fragment(parts: Iterable[d.Block]) -> str:
    """Write blocks as they stand on a page, without the page around them."""
    return "\n".join(_blocks(parts))
