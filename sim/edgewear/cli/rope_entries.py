"""Commands that write into the record of ropes: register, job, look, event, decisions, correct."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from edgewear.cli.app import Json, Quiet
from edgewear.cli.rope_options import (
    By,
    From,
    Note,
    On,
    Reason,
    Record,
    RopeName,
    To,
    enter,
    metres,
    opened,
    ropes,
    tell_written,
    today,
)
from edgewear.errors import UsageError

if TYPE_CHECKING:
    from edgewear.stock.standing import Standing

Where = tuple[str | None, str | None, int | None]
"""Option, line and which of its ropes, as typed."""

How = tuple[float | None, bool | None]
"""Rope behind the fixed point [m] and whether end B was there; None: not typed."""


@ropes.command()
def register(
    record: Record,
    rope: RopeName,
    by: By,
    length: Annotated[str, typer.Option("--length", metavar="LENGTH", help="Of the piece.")],
    like: Annotated[
        str | None, typer.Option("--like", metavar="WORD", help="The library's rope it is like.")
    ] = None,
    batch: Annotated[
        str | None, typer.Option("--batch", metavar="TEXT", help="The maker's.")
    ] = None,
    cut_from: Annotated[
        str | None, typer.Option("--cut-from", metavar="TEXT", help="What it was cut from.")
    ] = None,
    cut_at: Annotated[
        str | None,
        typer.Option("--cut-at", metavar="LENGTH", help="Where on that its end A was."),
    ] = None,
    made: Annotated[
        str | None, typer.Option("--made", metavar="DATE", help="When it was made.")
    ] = None,
    first_use: Annotated[
        str | None, typer.Option("--first-use", metavar="DATE", help="When it was first used.")
    ] = None,
    mark: Annotated[
        list[str] | None,
        typer.Option("--mark", metavar="NAME=LENGTH", help="A mark along it, from end A."),
    ] = None,
    on: On = None,
    note: Note = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Register a rope; makes the record where there is none. End A is where lengths begin."""
    marks = dict(_mark(one) for one in mark or ()) or None
    enter(
        record, rope, "register", on, by, json, make=True, length_m=metres(length, "--length"),
        like=like, batch=batch, cut_from=cut_from, cut_at_m=metres(cut_at, "--cut-at"),
        made=made, first_use=first_use, marks=marks, note=note,
    )  # fmt: skip


def _mark(typed: str) -> tuple[str, float]:
    name, equals, at = typed.rpartition("=")
    at_m = metres(at, "--mark") if equals else None
    if at_m is None:
        raise UsageError(f"--mark {typed!r}: NAME=LENGTH is due")
    return name, at_m


@ropes.command()
def job(
    record: Record,
    rope: RopeName,
    by: By,
    dataset: Annotated[
        Path | None,
        typer.Option("--dataset", metavar="DIR", help="The comparison it was planned by."),
    ] = None,
    option: Annotated[
        str | None, typer.Option("--option", metavar="NAME", help="What was rigged.")
    ] = None,
    line: Annotated[
        str | None, typer.Option("--line", metavar="NAME", help="The line the rope was.")
    ] = None,
    which: Annotated[
        int | None,
        typer.Option("--which", metavar="N", help="Of a swapped line's ropes: 1 the first."),
    ] = None,
    shift: Annotated[
        str | None,
        typer.Option(
            "--shift",
            metavar="LENGTH",
            help="Rope behind the line's fixed point; by default the tail it was planned with.",
        ),
    ] = None,
    turned: Annotated[
        bool | None,
        typer.Option(
            "--turned/--not-turned",
            help="End B was at the fixed point; by default as it was planned.",
        ),
    ] = None,
    job: Annotated[
        str | None,
        typer.Option("--job", metavar="TEXT", help="The job, where nothing was computed."),
    ] = None,
    on: On = None,
    note: Note = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Enter that a rope was used in a job. With its computed wear, where it was compared."""
    from edgewear.stock.entries import Draft

    if (dataset is None) == (job is None):
        raise UsageError("either --dataset or --job is due")
    how = metres(shift, "--shift"), turned
    with opened(record) as stock:
        hashes = {entry.hash for entry in stock.entries(rope)}
        standing = stock.standing(rope)
        body = _body(standing, hashes, job, dataset, (option, line, which), how)
        if note is not None:
            body["note"] = note
        entry = stock.append(Draft(rope, "job", today(on), by, body))
        tell_written(stock, [entry], json)


def _body(
    standing: Standing,
    hashes: set[str],
    job: str | None,
    folder: Path | None,
    where: Where,
    how: How,
) -> dict[str, Any]:
    """Give the entry's body: of a job by hand, or with the wear that a comparison has of it."""
    from edgewear.dataset.reading import open_dataset
    from edgewear.dataset.rope_wear import line_wear, planned_rope
    from edgewear.stock.job_entry import as_planned, check_planned, job_body

    if folder is None:
        return job_body(job, None, standing.length_m, how[0] or 0.0, bool(how[1]))
    dataset = open_dataset(folder)
    wear = line_wear(dataset, *where)
    planned = planned_rope(dataset, wear)
    check_planned(planned, standing.rope, standing.like, hashes)
    return job_body(None, wear, standing.length_m, *as_planned(planned, *how))


@ropes.command()
def look(
    record: Record,
    rope: RopeName,
    by: By,
    finding: Annotated[
        str,
        typer.Option(
            "--finding",
            metavar="WORD",
            help="nothing, fuzz, yarns cut, core visible, sheath broken, glazed, stiff, soft or "
            "lumpy, discoloured.",
        ),
    ],
    from_: From = None,
    to: To = None,
    on: On = None,
    note: Note = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Enter an inspection. By default of the whole length."""
    with opened(record) as stock:
        length_m = stock.standing(rope).length_m
    low, high = metres(from_, "--from"), metres(to, "--to")
    enter(
        record, rope, "inspection", on, by, json, finding=finding, from_m=low or 0.0,
        to_m=length_m if high is None else high, note=note,
    )  # fmt: skip


@ropes.command()
def event(
    record: Record,
    rope: RopeName,
    by: By,
    what: Annotated[
        str,
        typer.Option(
            "--what",
            metavar="WORD",
            help="fall held, fall held over an edge, ran over an edge, chemical, heat, other.",
        ),
    ],
    from_: From = None,
    to: To = None,
    on: On = None,
    note: Note = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Enter what happened to a rope."""
    low, high = metres(from_, "--from"), metres(to, "--to")
    enter(record, rope, "event", on, by, json, what=what, from_m=low, to_m=high, note=note)


@ropes.command("set-aside")
def set_aside(
    record: Record,
    rope: RopeName,
    by: By,
    reason: Reason,
    on: On = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Set a rope aside until somebody has looked at it."""
    enter(record, rope, "decision", on, by, json, decision="set aside", reason=reason)


@ropes.command("put-back")
def put_back(
    record: Record,
    rope: RopeName,
    by: By,
    reason: Reason,
    on: On = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Enter a person's decision to use a rope that was set aside. After an inspection only."""
    enter(record, rope, "decision", on, by, json, decision="in use", reason=reason)


@ropes.command()
def retire(
    record: Record,
    rope: RopeName,
    by: By,
    reason: Reason,
    on: On = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Retire a rope. Nothing takes that back."""
    enter(record, rope, "decision", on, by, json, decision="retired", reason=reason)


@ropes.command()
def correct(
    record: Record,
    rope: RopeName,
    entry: Annotated[int, typer.Argument(metavar="ENTRY", help="Number of the wrong entry.")],
    by: By,
    reason: Reason,
    on: On = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Enter that an entry does not hold. What it asked for stays asked."""
    enter(record, rope, "correction", on, by, json, entry=entry, reason=reason)
