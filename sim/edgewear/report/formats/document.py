"""A document as a tree of plain blocks, which page, Markdown and text document all print."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field


@dataclass(frozen=True)
class Name:
    """A text a user typed: shown as it is, kept apart from the direction of what surrounds it."""

    text: str


@dataclass(frozen=True)
class Strong:
    """A text that must not be overlooked."""

    text: str


Inline = str | Name | Strong
Run = tuple[Inline, ...]


@dataclass(frozen=True)
class Cell:
    """One cell of a table; `order` is what it is sorted by where its text is no number."""

    run: Run
    order: float | None = None


@dataclass(frozen=True)
class Column:
    """A column: its heading, and whether it holds figures."""

    title: str
    figures: bool = False


@dataclass(frozen=True)
class Table:
    """A real table; the cell in `name_column` names its row."""

    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    name_column: int = 0
    bands: tuple[int, ...] = ()  # a row is never sorted out of its band; empty: one band
    sortable: bool = True
    written_on: bool = False  # rows are filled in by hand


@dataclass(frozen=True)
class Paragraph:
    """A paragraph; `kind` is plain, lead, note or caution."""

    run: Run
    kind: str = "plain"


@dataclass(frozen=True)
class Listing:
    """Points of a list."""

    points: tuple[Run, ...]
    kind: str = "plain"


@dataclass(frozen=True)
class Facts:
    """Pairs of a word and what it is."""

    pairs: tuple[tuple[str, Run], ...]


@dataclass(frozen=True)
class Figure:
    """A picture, what it shows in one line, and the name of its file."""

    svg: str
    caption: Run
    name: str
    wide: bool = False
    narrow: str = ""  # the same picture for a telephone; empty: there is one for all


@dataclass(frozen=True)
class Pair:
    """Figures that stand beside each other where there is room."""

    figures: tuple[Figure, ...]
    lead: bool = False  # the first one is the largest, the others stand beside it


@dataclass(frozen=True)
class Code:
    """Text to be typed or kept as it is."""

    text: str


@dataclass(frozen=True)
class Fold:
    """Blocks folded away under a title; printed pages show them when `printed`."""

    title: str
    blocks: tuple[Block, ...]
    printed: bool = False


@dataclass(frozen=True)
class Section:
    """A titled part of a document."""

    title: Run
    identity: str
    blocks: tuple[Block, ...]
    level: int = 2
    own_sheet: bool = False  # printed, it begins a new sheet of paper


Block = Paragraph | Listing | Facts | Table | Figure | Pair | Code | Fold | Section


@dataclass(frozen=True)
class Sheet:
    """A whole document: its title, the line that stands on every printed page, its parts."""

    title: str
    running: tuple[str, ...]
    blocks: tuple[Block, ...] = field(default=())


def run(*pieces: Inline) -> Run:
    """Join pieces of text, leaving out empty ones."""
    return tuple(piece for piece in pieces if piece != "")


def plain(pieces: Sequence[Inline]) -> str:
    """Give a run as bare text."""
    return "".join(piece if isinstance(piece, str) else piece.text for piece in pieces)


def cell(content: Inline | Run, order: float | None = None) -> Cell:
    """Make a cell of a text or a run.

    Parameters:
        content: what it shows.
        order: what it is sorted by.
    """
    return Cell(content if isinstance(content, tuple) else (content,), order)
