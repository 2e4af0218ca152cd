"""Pictures that stand alone: the same drawings as on the page, in black on white."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from edgewear.report.formats import document as d
from edgewear.report.formats.html import asset

PRINTED = {"paper": "#fff", "ink": "#000", "soft": "#333", "faint": "#bbb", "line": "#666"}
"""What the colours of the style sheet become on paper."""


def standalone(svg: str) -> str:
    """Give a picture with its styles inside, to be pasted into any document."""
    style = re.sub(r"var\(--(\w+)\)", lambda found: PRINTED[found.group(1)], asset("picture.css"))
    opening, rest = svg.split(">", 1)
    size = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', opening)
    sized = f' width="{size.group(1)}" height="{size.group(2)}"' if size else ""
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>\n{opening}{sized}><style>{style}</style>'
        f'<rect width="100%" height="100%" fill="#fff"/>{rest}\n'
    )


def figures(blocks: Iterable[d.Block]) -> Iterator[d.Figure]:
    """Give every figure of a document, in order."""
    for block in blocks:
        match block:
            case d.Figure():
                yield block
            case d.Pair():
                yield from block.figures
            case d.Section() | d.Fold():
                yield from figures(block.blocks)
