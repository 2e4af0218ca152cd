"""Commands about what can go wrong: faults."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from edgewear.cli.app import File, Json, Option, Quiet, Replicates, Seed, Workers, app
from edgewear.cli.terminal import emit, progress_line, width


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
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Put every failure and fault into a procedure. What holds, who sees it, when."""
    from edgewear.report import print_faults
    from edgewear.study.faults import faults

    with progress_line(quiet) as told:
        document = faults(
            file, other, option=option, replicates=replicates, seed=seed, workers=workers,
            progress=told,
        )  # fmt: skip
    if json:
        emit(document)
    else:
        print_faults(document, sys.stdout, width())
