"""Commands that read the record of ropes: due, show, export, import, rules, verify."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from edgewear.cli.app import Json, Quiet
from edgewear.cli.rope_options import (
    On,
    Record,
    RopeName,
    opened,
    ropes,
    show,
    tell_written,
    today,
)
from edgewear.cli.terminal import emit, say
from edgewear.errors import DatasetError, UsageError


@ropes.command()
def due(
    record: Record,
    within: Annotated[
        int, typer.Option("--within", metavar="DAYS", help="How soon a date must come.", min=0)
    ] = 30,
    every: Annotated[bool, typer.Option("--all", help="List every rope.")] = False,
    on: On = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """List ropes that ask for somebody. Set aside, or with a date that comes soon."""
    from edgewear.report.ropes.terminal import due_lines
    from edgewear.stock.documents import due_document

    with opened(record) as stock:
        document = due_document(stock, today(on), within, every)
    show(document, due_lines, json)


@ropes.command("show")
def show_rope(
    record: Record,
    rope: RopeName,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="DIR", help="Write its page there.")
    ] = None,
    on: On = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Tell one rope's life. With --out as a page with wear along its length."""
    from edgewear.report.ropes.page import write_rope
    from edgewear.report.ropes.terminal import rope_lines
    from edgewear.stock.documents import rope_document

    with opened(record) as stock:
        document = rope_document(stock, rope, today(on))
    if out is not None:
        document["page"] = str(write_rope(document, out))
    show(document, rope_lines, json)
    if out is not None and not json:
        print(document["page"])


@ropes.command("export")
def export(
    record: Record,
    out: Annotated[Path, typer.Option("--out", metavar="FILE", help="A .csv or .json file.")],
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Write every entry into a table or a JSON document."""
    from edgewear.report.write import write_files
    from edgewear.stock.exchange import as_csv, as_json

    writers = {".csv": as_csv, ".json": as_json}
    if out.suffix.lower() not in writers:
        raise UsageError(f"--out {out}: a name that ends in .csv or .json is due")
    with opened(record) as stock:
        text = writers[out.suffix.lower()](stock.every_entry())
        number, digest = stock.head()
    write_files(out.parent, {out.name: text.encode()})
    if json:
        document = {"schema": "edgewear.rope-export/1", "file": str(out), "entries": number}
        emit({**document, "hash": digest})
    else:
        say(f"{out}: entries up to {number}, hash {digest[:16]}")


@ropes.command("import")
def import_(
    record: Record,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A .csv or .json file.")],
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Enter a paper log, or an export. A whole export keeps its hashes in a new record."""
    from edgewear.stock.exchange import read, take_in

    typed = read(file)
    with opened(record, make=True) as stock:
        tell_written(stock, take_in(stock, typed), json)


@ropes.command()
def rules(
    record: Record,
    stricter: Annotated[
        Path | None,
        typer.Option("--stricter", metavar="FILE", help="A library with stricter `rope rules`."),
    ] = None,
    by: Annotated[str | None, typer.Option("--by", metavar="NAME", help="Who says so.")] = None,
    on: On = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """List the rules in force, or make them stricter for good."""
    from edgewear.report.ropes.terminal import rules_lines
    from edgewear.scenario.read.rope_rules import own_rules
    from edgewear.stock.documents import rules_document
    from edgewear.stock.entries import EVERY_ROPE, Draft
    from edgewear.stock.rules import as_body

    if (stricter is None) != (by is None):
        raise UsageError("--stricter and --by go together")
    with opened(record) as stock:
        if stricter is not None:
            body = {"rules": as_body(own_rules(stricter))}
            stock.append(Draft(EVERY_ROPE, "rules", today(on), str(by), body))
        document = rules_document(stock)
    show(document, rules_lines, json)


@ropes.command()
def verify(
    record: Record,
    head: Annotated[
        str | None,
        typer.Option("--hash", metavar="HASH", help="Of an entry noted earlier: still there?"),
    ] = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Say whether the record is as it was written: the file, the chain of hashes, the lists."""
    from edgewear.stock.chain import verify as verify_record

    with opened(record) as stock:
        wrong = verify_record(stock, head)
        number, digest = stock.head()
    if json:
        emit({"schema": "edgewear.rope-verify/1", "entries": number, "hash": digest,
              "wrong": wrong})  # fmt: skip
    else:
        say(*wrong or [f"{number} entries follow from each other, hash {digest[:16]}"])
    if wrong and not quiet:
        print("the record is not as it was written", file=sys.stderr)
    if wrong:
        raise typer.Exit(DatasetError.exit_code)
