"""Commands about what can go wrong: faults."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated, Any

import typer

from edgewear.cli.app import File, Json, Option, Quiet, Replicates, Seed, Workers, app
from edgewear.cli.terminal import emit, progress_line, width
from edgewear.errors import CannotCreate


@app.command()
def faults(
    file: File,
    other: Annotated[
        Path | None,
        typer.Argument(metavar="OTHER", help="A revision of it, to say what that changes."),
    ] = None,
    option: Option = None,
    replicates: Replicates = 64,
    seed: Seed = 0,
    workers: Workers = None,
    picture: Annotated[
        Path | None,
        typer.Option("--picture", metavar="PATH", help="Draw the worst run over time, as SVG."),
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="DIR", help="Write page, tables and picture there."),
    ] = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Put every failure and fault into a procedure. What holds, who sees it, when."""
    from edgewear.procedure.faults import faults
    from edgewear.report import print_faults, write_faults

    with progress_line(quiet) as told:
        document = faults(
            file, other, option=option, replicates=replicates, seed=seed, workers=workers,
            progress=told,
        )  # fmt: skip
    if picture is not None:
        _draw(document, picture)
    page = write_faults(document, out) if out is not None else None
    if json:
        emit(document)
        return
    print_faults(document, sys.stdout, width())
    if page is not None:
        sys.stdout.write(f"\npage     {page}\n")


def _draw(document: dict[str, Any], picture: Path) -> None:
    from edgewear.report import faults_picture
    from edgewear.report.drawings.pictures import standalone

    try:
        picture.write_text(standalone(faults_picture(document)), encoding="utf-8")
    except OSError as error:
        raise CannotCreate(f"{picture}: {error.strerror}") from error
