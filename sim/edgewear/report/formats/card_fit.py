"""How large the type of a card may be so that everything stands on one A5 page."""

from __future__ import annotations

import html
import math
import re
from collections.abc import Sequence

from edgewear.report.terminal.console import display_width

SIZES_PT = (7.8, 7.2, 6.6, 6.0, 5.4, 4.8)
"""Sizes of type, each with a class of its own in the card's style sheet: s0, s1, ..."""

SKETCH_MM = (70.0, 70.0, 60.0, 60.0, 46.0, 46.0)
"""Width of the sketch beside each size, as in the style sheet."""

PAGE_MM = (132.0, 196.0)
"""Room on an A5 page inside its margins."""

SPARE = 0.95
"""Share of the page's height that is filled: widths of letters are only estimated."""

MM_PER_PT = 25.4 / 72
CHARACTER_EM = 0.55
"""Width of a character over the size of type: the style sheet scales any font's zero to it."""

ROW_EM = 1.3 + 0.36
LINE_EM = 1.3 + 0.3
HEADING_EM = 2.4


def size_class(sketch: str, beside: str, below: str) -> str:
    """Choose the largest type with which a card fits on its page."""
    room = PAGE_MM[1] * SPARE
    places = range(len(SIZES_PT))
    fits = (p for p in places if height_mm(sketch, beside, below, p) <= room)
    return f"s{next(fits, places[-1])}"


def height_mm(sketch: str, beside: str, below: str, place: int) -> float:
    """Estimate the height of a card [mm].

    Parameters:
        sketch, beside, below: as for `size_class`.
        place: which size of type.
    """
    em_mm = SIZES_PT[place] * MM_PER_PT
    left = SKETCH_MM[place]
    right = _lines_em(beside, (PAGE_MM[0] - left - 4) / em_mm) * em_mm
    return max(_drawn_mm(sketch, left), right) + _lines_em(below, PAGE_MM[0] / em_mm) * em_mm


def _drawn_mm(sketch: str, width_mm: float) -> float:
    size = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', sketch)
    if size is None:
        return 10.0
    return min(width_mm * float(size.group(2)) / float(size.group(1)), 74.0)


def _lines_em(markup: str, width_em: float) -> float:
    """Estimate the height of paragraphs, points and table rows in a column [em]."""
    wide = width_em / CHARACTER_EM
    total = 0.0
    for tag, inner in re.findall(r"<(h1|h2|p|li|tr)\b[^>]*>(.*?)</\1>", markup, re.S):
        if tag == "tr":
            total += (
                _row_lines(re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", inner, re.S), wide) * ROW_EM
            )
        elif tag in ("h1", "h2"):
            total += HEADING_EM
        else:
            lines = sum(math.ceil(max(_width(part), 1) / wide) for part in inner.split("<br>"))
            total += 1.3 * lines + LINE_EM - 1.3
    return total + 2.4 * markup.count('class="stop"')


def _row_lines(cells: Sequence[str], wide: float) -> int:
    """Estimate how many lines the fullest cell of a row takes, columns shared out by content."""
    widths = [max(_width(cell), 4) for cell in cells]
    whole = sum(widths)
    if whole <= wide * 0.85:
        return 1
    even = wide / len(cells)
    return max(math.ceil(width / max(even, wide * 0.8 * width / whole)) for width in widths)


def _width(markup: str) -> int:
    """Count the characters a piece of markup shows; a blank to be filled in counts as many."""
    shown = re.sub("<[^>]+>", "", markup.replace('class="blank">', ">" + "_" * 18))
    return display_width(html.unescape(shown))
