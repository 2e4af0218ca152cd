"""Text in columns for a terminal: display widths, wrapping, and emphasis only where it shows."""

from __future__ import annotations

import os
import unicodedata
from collections.abc import Sequence
from functools import cache
from typing import TextIO

from edgewear.report.parts.words import plain

UNITS = frozenset(("%", "kN", "N", "kg", "m", "mm", "s", "min", "h", "Hz", "degrees", "deg"))
"""Words that stay on the line of the figure before them."""


LEAST_TEXT = 8
"""Cells that a column of texts needs at least [1]."""

LEAST_WIDTH = 40
"""Columns of the narrowest terminal that texts are fitted to [1]."""


def display_width(text: str) -> int:
    """Count the cells a text takes on a terminal."""
    return sum(_cells(character) for character in text)


@cache
def _cells(character: str) -> int:
    if unicodedata.combining(character) or unicodedata.category(character) in ("Mn", "Me", "Cf"):
        return 0
    return 2 if unicodedata.east_asian_width(character) in ("W", "F") else 1


def printable(text: str) -> str:
    """Replace control characters, so that no name can move the cursor or colour the terminal."""
    cleaned = "".join(
        " " if character in "\t\n\r" else character
        for character in text
        if character in "\t\n\r" or unicodedata.category(character) not in ("Cc", "Cf", "Cs")
    )
    return " ".join(cleaned.split())


def fill(text: str, width: int, first: str = "", rest: str | None = None) -> list[str]:
    """Break a text into lines that fit, words kept whole where they can be.

    Parameters:
        text: any.
        width: cells a line may take, the indent counted.
        first, rest: indent of the first line and of the others.
    """
    indent = first
    lines: list[str] = []
    current = ""
    for word in _words(printable(text)):
        for piece in _pieces(word, width - max(len(first), len(rest or first))):
            joined = f"{current} {piece}" if current else piece
            if display_width(indent + joined) > width and current:
                lines.append(indent + current)
                indent = first if rest is None else rest
                current = piece
            else:
                current = joined
    return [*lines, indent + current]


def _words(text: str) -> list[str]:
    """Give the words of a text, a figure and its unit as one."""
    found: list[str] = []
    for word in text.split(" "):
        if found and word.rstrip(".,;:)") in UNITS and _is_figure(found[-1]):
            found[-1] += f" {word}"
        else:
            found.append(word)
    return found


def _is_figure(word: str) -> bool:
    return word.lstrip("(-\N{MINUS SIGN}").replace(".", "").replace(",", "").isdecimal()


def _pieces(word: str, width: int) -> list[str]:
    pieces = [""]
    for character in word:
        if display_width(pieces[-1] + character) > width and pieces[-1]:
            pieces.append("")
        pieces[-1] += character
    return pieces


def shorten(text: str, width: int) -> str:
    """Cut a text to a width, with "..." where something was left out.

    Parameters:
        text: one line.
        width: cells, at least 4.
    """
    text = printable(text)
    if display_width(text) <= width:
        return text
    while display_width(text) > width - 3:
        text = text[:-1]
    return text.rstrip() + "..."


def pad(text: str, width: int, right: bool = False) -> str:
    """Fill a text up to a width."""
    room = " " * max(width - display_width(text), 0)
    return room + text if right else text + room


def takes_escapes(stream: TextIO) -> bool:
    """Tell whether a stream is a terminal that shows emphasis, and nobody asked for plain text."""
    asked_plain = bool(os.environ.get("NO_COLOR")) or os.environ.get("TERM") == "dumb"
    return stream.isatty() and not asked_plain


class Console:
    """Writes lines to a stream; strong where a terminal shows it, plain everywhere else."""

    def __init__(self, stream: TextIO, width: int) -> None:
        """Look once whether the stream can show emphasis.

        Parameters:
            stream: where lines go.
            width: cells of a line; below 40 lines are 40 wide.
        """
        self.stream = stream
        self.width = max(width, LEAST_WIDTH)
        self.emphasis = takes_escapes(stream)

    def line(self, text: str = "", strong: bool = False) -> None:
        """Write one line.

        Parameters:
            text: at most as wide as the console.
            strong: whether it must not be overlooked.
        """
        shown = plain(text).rstrip()
        if strong and self.emphasis and shown:
            shown = f"\x1b[1m{shown}\x1b[0m"
        self.stream.write(shown + "\n")

    def text(
        self, text: str, first: str = "", rest: str | None = None, strong: bool = False
    ) -> None:
        """Write a text over as many lines as it needs.

        Parameters:
            text: any.
            first, rest: indents.
            strong: whether it must not be overlooked.
        """
        for line in fill(text, self.width, first, rest):
            self.line(line, strong)

    def heading(self, text: str) -> None:
        """Write a heading after an empty line."""
        self.line()
        self.line(text, strong=True)

    def table(self, headings: Sequence[str], rows: Sequence[Sequence[str]], texts: int = 1) -> None:
        """Write a table; texts stand left and break over lines, figures stand to the right.

        Where there is no room for columns, each row becomes a text with its headings in it.

        Parameters:
            headings, rows: cells.
            texts: how many columns, from the first, hold texts.
        """
        cells = [[plain(printable(text)) for text in row] for row in [headings, *rows]]
        widths = [max(map(display_width, column)) for column in zip(*cells, strict=True)]
        room = self.width - 2 * len(widths) - sum(widths[texts:])
        if room < texts * LEAST_TEXT:
            self._listed(cells)
            return
        widths[:texts] = shared_out(widths[:texts], room)
        for row in cells:
            self._row(row, widths, texts)

    def _row(self, row: Sequence[str], widths: Sequence[int], texts: int) -> None:
        columns = [
            fill(text, wide) if place < texts else [text]
            for place, (text, wide) in enumerate(zip(row, widths, strict=True))
        ]
        for number in range(max(map(len, columns))):
            shown = [
                pad(lines[number] if number < len(lines) else "", wide, right=place >= texts)
                for place, (lines, wide) in enumerate(zip(columns, widths, strict=True))
            ]
            self.line("  " + "  ".join(shown))

    def _listed(self, cells: Sequence[Sequence[str]]) -> None:
        headings, *rows = cells
        for row in rows:
            said = [f"{head} {text}" for head, text in zip(headings[1:], row[1:], strict=True)]
            self.text(f"{row[0]}: {', '.join(said)}", "  ", "    ")


def shared_out(widths: Sequence[int], room: int) -> list[int]:
    """Give columns of texts their width, or where there is too little room an even share of it."""
    if sum(widths) <= room:
        return list(widths)
    given: list[int] = []
    left = room
    for wide in sorted(widths):
        given.append(min(wide, left // (len(widths) - len(given))))
        left -= given[-1]
    order = [place for place, _ in sorted(enumerate(widths), key=lambda one: one[1])]
    return [given[order.index(place)] for place in range(len(widths))]
