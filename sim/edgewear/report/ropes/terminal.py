"""The record of ropes in the terminal."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from edgewear.report.ropes import words as rope_words
from edgewear.report.terminal.console import fill

Row = Mapping[str, Any]


def entries_lines(document: Row, width: int) -> Iterator[str]:
    """Say what was written and how the ropes stand now.

    Parameters:
        document: `edgewear.rope-entries/1`.
        width: columns.
    """
    written = document["entries"]
    if not written:
        yield "nothing to enter"
        return
    last = written[-1]
    first = "" if len(written) == 1 else f"{written[0]['number']} to "
    yield f"entry {first}{last['number']} written, hash {last['hash'][:16]}"
    for found in document["ropes"][:20]:
        yield from _rope(found, width)
    if len(document["ropes"]) > 20:
        yield f"and {len(document['ropes']) - 20} more ropes"


def _rope(found: Row, width: int) -> Iterator[str]:
    yield from fill(f"{found['rope']}: {rope_words.standing(found)}", width)
    for row in found["reasons"]:
        yield from fill(rope_words.reason(row), width, "  ")
    if told := rope_words.cut_from(found):
        yield from fill(told, width, "  ")
    yield from fill(f"last: {rope_words.last_look(found)}", width, "  ")


def due_lines(document: Row, width: int) -> Iterator[str]:
    """List the ropes that ask for somebody.

    Parameters:
        document: `edgewear.ropes/1`.
        width: columns.
    """
    for found in document["ropes"]:
        yield from _rope(found, width)
        if found["next_on"]:
            yield f"  next date that asks for something: {found['next_on']}"
    yield (
        f"{len(document['ropes'])} listed of {document['registered']} registered, "
        f"{document['retired']} of them retired"
    )
    yield from fill(document["cautions"][0], width)


def rope_lines(document: Row, width: int) -> Iterator[str]:
    """Tell one rope's life.

    Parameters:
        document: `edgewear.rope/1`.
        width: columns.
    """
    yield from _rope(document, width)
    yield f"  sheath worn, most anywhere: {rope_words.interval(document['wear'])}"
    yield f"  next date that asks for something: {document['next_on'] or 'none known'}"
    for row in document["entries"]:
        mark = " (corrected)" if row["corrected"] else ""
        head = f"{row['number']}  {row['on']}  {rope_words.KINDS[row['kind']]}{mark}: "
        yield from fill(f"{head}{rope_words.entry(row)}; {row['by']}", width, "  ", "      ")
    for row in document["looks"]:
        yield from fill(f"entry {row['entry']}, {row['finding']}: {rope_words.look(row)}", width,
                        "  ", "      ")  # fmt: skip
    for text in document["cautions"]:
        yield from fill(text, width)


def rules_lines(document: Row, width: int) -> Iterator[str]:
    """List the rules in force.

    Parameters:
        document: `edgewear.rope-rules/1`.
        width: columns.
    """
    for row in document["rules"]:
        yield from fill(f"{row['word']}: {row['asks']}{_limit(row)} [{row['pedigree']}]", width,
                        rest="    ")  # fmt: skip


def _limit(row: Row) -> str:
    if row["limit"] is None:
        return ""
    if row["word"] == "careful wear":
        return f" from {row['limit'] * 100:g} % on"
    return f" after {row['limit']:.0f} days"
