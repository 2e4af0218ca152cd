"""A document as an OpenDocument text, to be edited and pasted from in any word processor."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterable, Iterator

from edgewear.report.drawings.pictures import figures, standalone
from edgewear.report.formats import document as d
from edgewear.report.formats.escape import markup
from edgewear.report.formats.html import asset

MIMETYPE = "application/vnd.oasis.opendocument.text"
STAMP = (1980, 1, 1, 0, 0, 0)
"""Every file inside carries this time, so that the same document gives the same bytes."""

WIDTH_CM = 12.0
"""Width of a picture on the page."""

NAMESPACES = " ".join(
    f'xmlns:{prefix}="{uri}"'
    for prefix, uri in (
        ("office", "urn:oasis:names:tc:opendocument:xmlns:office:1.0"),
        ("style", "urn:oasis:names:tc:opendocument:xmlns:style:1.0"),
        ("text", "urn:oasis:names:tc:opendocument:xmlns:text:1.0"),
        ("table", "urn:oasis:names:tc:opendocument:xmlns:table:1.0"),
        ("draw", "urn:oasis:names:tc:opendocument:xmlns:drawing:1.0"),
        ("fo", "urn:oasis:names:tc:opendocument:xmlns:xsl-fo-compatible:1.0"),
        ("svg", "urn:oasis:names:tc:opendocument:xmlns:svg-compatible:1.0"),
        ("xlink", "http://www.w3.org/1999/xlink"),
    )
)


def write(sheet: d.Sheet) -> bytes:
    """Write a whole document as a file of a word processor."""
    pictures = {f"Pictures/{one.name}.svg": standalone(one.svg) for one in figures(sheet.blocks)}
    files = {
        "mimetype": MIMETYPE,
        "META-INF/manifest.xml": _manifest(pictures),
        "content.xml": _content(sheet),
        "styles.xml": _styles(sheet),
        **pictures,
    }
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        for name, text in files.items():
            entry = zipfile.ZipInfo(name, STAMP)
            entry.compress_type = zipfile.ZIP_STORED if name == "mimetype" else zipfile.ZIP_DEFLATED
            entry.create_system = 3
            archive.writestr(entry, text.encode())
    return stream.getvalue()


def _manifest(pictures: Iterable[str]) -> str:
    kinds = [("/", MIMETYPE), ("content.xml", "text/xml"), ("styles.xml", "text/xml")]
    kinds += [(name, "image/svg+xml") for name in pictures]
    entries = "".join(
        f'<manifest:file-entry manifest:full-path="{name}" manifest:media-type="{kind}"/>'
        for name, kind in kinds
    )
    return (
        '<?xml version="1.0" encoding="UTF-8"?>'
        '<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0" '
        f'manifest:version="1.3">{entries}</manifest:manifest>'
    )


def _styles(sheet: d.Sheet) -> str:
    text = asset("text_document.xml").replace("{NAMESPACES}", NAMESPACES)
    return text.replace("{RUNNING}", markup(" · ".join(sheet.running)))


def _content(sheet: d.Sheet) -> str:
    return (
        f'<?xml version="1.0" encoding="UTF-8"?><office:document-content {NAMESPACES} '
        'office:version="1.3"><office:body><office:text>'
        f"{''.join(_blocks(sheet.blocks))}</office:text></office:body></office:document-content>"
    )


def _blocks(blocks: Iterable[d.Block]) -> Iterator[str]:
    for block in blocks:
        yield from _block(block)


def _block(block: d.Block) -> Iterator[str]:
    match block:
        case d.Section():
            yield _heading(block.level, _inline(block.title))
            yield from _blocks(block.blocks)
        case d.Paragraph():
            yield _paragraph(_inline(block.run), {"plain": "Text"}.get(block.kind, block.kind))
        case d.Listing():
            points = "".join(
                f"<text:list-item>{_paragraph(_inline(point))}</text:list-item>"
                for point in block.points
            )
            yield f'<text:list text:style-name="Points">{points}</text:list>'
        case d.Facts():
            for word, meaning in block.pairs:
                yield _paragraph(f"{markup(word)}: {_inline(meaning)}")
        case d.Table():
            yield from _table(block)
        case d.Figure():
            yield _picture(block)
        case d.Pair():
            yield from _blocks(block.figures)
        case d.Code():
            for line in block.text.splitlines():
                spaces = len(line) - len(line.lstrip(" "))
                kept = f'<text:s text:c="{spaces}"/>' if spaces else ""
                yield _paragraph(kept + markup(line.lstrip(" ")), "Typed")
        case d.Fold():
            yield _heading(3, markup(block.title))
            yield from _blocks(block.blocks)


def _heading(level: int, text: str) -> str:
    return f'<text:h text:style-name="Heading{level}" text:outline-level="{level}">{text}</text:h>'


def _paragraph(text: str, style: str = "Text") -> str:
    return f'<text:p text:style-name="{style}">{text}</text:p>'


def _inline(run: d.Run) -> str:
    pieces = []
    for piece in run:
        if isinstance(piece, d.Strong):
            pieces.append(f'<text:span text:style-name="Strong">{markup(piece.text)}</text:span>')
        else:
            pieces.append(markup(piece if isinstance(piece, str) else piece.text))
    return "".join(pieces)


def _table(table: d.Table) -> Iterator[str]:
    yield _paragraph(markup(table.caption), "note")
    yield f'<table:table table:name="{markup(table.caption[:60])}">'
    yield f'<table:table-column table:number-columns-repeated="{len(table.columns)}"/>'
    heads = "".join(_cell(markup(column.title), "Head") for column in table.columns)
    row = f"<table:table-row>{heads}</table:table-row>"
    yield f"<table:table-header-rows>{row}</table:table-header-rows>"
    for cells_of in table.rows:
        cells = "".join(_cell(_inline(cell.run), "Cell") for cell in cells_of)
        yield f"<table:table-row>{cells}</table:table-row>"
    yield "</table:table>"


def _cell(text: str, style: str) -> str:
    return (
        '<table:table-cell table:style-name="Ruled" office:value-type="string">'
        f"{_paragraph(text, style)}</table:table-cell>"
    )


def _picture(figure: d.Figure) -> str:
    size = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', figure.svg)
    share = float(size.group(2)) / float(size.group(1)) if size else 1.0
    frame = (
        f'<draw:frame text:anchor-type="as-char" svg:width="{WIDTH_CM}cm" '
        f'svg:height="{WIDTH_CM * share:.2f}cm" draw:name="{markup(figure.name)}">'
        f'<draw:image xlink:href="Pictures/{markup(figure.name)}.svg" xlink:type="simple" '
        'xlink:show="embed" xlink:actuate="onLoad"/></draw:frame>'
    )
    return _paragraph(frame) + _paragraph(_inline(figure.caption), "note")
