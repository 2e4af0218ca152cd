"""The command that learns from tests."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from edgewear.cli.app import Json, Quiet, Seed, Workers, app
from edgewear.cli.terminal import emit, said_line, width

if TYPE_CHECKING:
    from edgewear.programme.learn.run import Step


@app.command()
def learn(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A file of tests.")],
    out: Annotated[Path, typer.Option("--out", metavar="DIR", help="Folder of what is learned.")],
    particles: Annotated[
        int, typer.Option("--particles", metavar="N", help="Size of each pass of sampling.")
    ] = 128,
    provisional: Annotated[
        bool, typer.Option("--provisional", help="One pass, unsettled; what is written says so.")
    ] = False,
    rivals: Annotated[
        bool, typer.Option("--rivals", help="Score other wear laws by ropes held out.")
    ] = False,
    seed: Seed = 0,
    workers: Workers = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Learn the wear law's numbers from tests. The same command resumes one that was stopped."""
    from edgewear.programme.learn.run import learn
    from edgewear.report import print_learned

    with said_line(quiet) as said:

        def told(step: Step) -> None:
            law, number = step.law or "library", step.number + 1
            said(f"{law} law, pass {number}: power {step.power:.3f} of 1, round {step.round}")

        found = learn(file, out, particles, seed, workers, rivals, told, provisional)
    if json:
        emit(found.as_json())
    else:
        print_learned(found, str(out), sys.stdout, width())
    if not found.usable:
        raise typer.Exit(1)
