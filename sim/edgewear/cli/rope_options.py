"""What the commands about the record of ropes share."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from edgewear.cli.out.streams import Broken, flush, why_broken
from edgewear.cli.terminal import emit, say, width
from edgewear.errors import CannotWrite, UsageError

if TYPE_CHECKING:
    from edgewear.stock.store import Stock


ropes = typer.Typer(
    name="rope",
    no_args_is_help=True,
    help="Keep the record of ropes from job to job. It never says that a rope may be used.",
)

Record = Annotated[Path, typer.Argument(metavar="RECORD", help="The file with the ropes.")]
RopeName = Annotated[str, typer.Argument(metavar="ROPE", help="Its name in the store.")]
By = Annotated[str, typer.Option("--by", metavar="NAME", help="Who says so.")]
On = Annotated[
    str | None,
    typer.Option("--on", metavar="DATE", help="The day, as 2026-05-31; by default today."),
]
Note = Annotated[str | None, typer.Option("--note", metavar="TEXT", help="Anything else.")]
Reason = Annotated[str, typer.Option("--reason", metavar="TEXT", help="Why.")]
From = Annotated[
    str | None, typer.Option("--from", metavar="LENGTH", help="Where it begins, from end A.")
]
To = Annotated[str | None, typer.Option("--to", metavar="LENGTH", help="Where it ends.")]


def metres(typed: str | None, what: str) -> float | None:
    """Read a length such as `12.5 m`; None stays None.

    Raises:
        UsageError: it is no length.
    """
    from edgewear.scenario.text.units import DIMENSIONS, to_si

    if typed is None:
        return None
    try:
        return to_si(typed, DIMENSIONS["length"])
    except ValueError as error:
        raise UsageError(f"{what}: {error}") from error


def today(typed: str | None = None) -> str:
    """Give the day that was typed, or today's, ISO.

    Raises:
        UsageError: it is no date.
    """
    from edgewear.stock.bodies import day

    if typed is not None and (wrong := day(typed)):
        raise UsageError(f"--on: {wrong}")
    return typed or date.today().isoformat()


def said(**fields: object) -> dict[str, Any]:
    """Give a body of what was typed; what was not is left out."""
    return {name: value for name, value in fields.items() if value is not None}


@contextmanager
def opened(record: Path, make: bool = False) -> Iterator[Any]:
    """Open the record under the library's rules."""
    from edgewear.scenario.read.rope_rules import built_in_rules
    from edgewear.stock.store import open_stock

    with open_stock(record, built_in_rules(), make) as stock:
        yield stock


def enter(
    record: Path, rope: str, kind: str, on: str | None, by: str, json: bool, make: bool = False,
    **fields: object,
) -> None:  # fmt: skip
    """Write an entry, then say so."""
    from edgewear.stock.entries import Draft

    draft = Draft(rope, kind, today(on), by, said(**fields))
    with opened(record, make) as stock:
        tell_written(stock, [stock.append(draft)], json)


def tell_written(stock: Stock, entries: Sequence[Any], json: bool) -> None:
    """Say what was written; where nobody listens any more, that it was written all the same.

    Raises:
        CannotWrite: the answer cannot be printed.
    """
    from edgewear.report.ropes.terminal import entries_lines
    from edgewear.stock.documents import entry_document

    document = entry_document(stock, entries, today())
    try:
        show(document, entries_lines, json)
        flush()
    except Broken as error:
        why_broken(error)  # and what is still held back goes nowhere
        number = entries[-1].number if entries else 0
        raise CannotWrite(
            f"{stock.path}: entry {number} is written; only the answer could not be printed"
        ) from error


def show(
    document: dict[str, Any], lines: Callable[[dict[str, Any], int], Iterable[str]], json: bool
) -> None:
    """Print a document, as JSON or in words."""
    if json:
        emit(document)
    else:
        say(*lines(document, width()))
