"""Commands that make ways of rigging: propose, and by hand in the browser: board."""

from __future__ import annotations

import sys
from contextlib import suppress
from pathlib import Path
from typing import Annotated

import typer

from edgewear.cli.app import File, Json, Quiet, Replicates, Seed, Set, Workers, app
from edgewear.cli.terminal import emit, progress_line, width

Names = list[str] | None


@app.command()
def propose(
    file: File,
    base: Annotated[
        str | None,
        typer.Option("--like", metavar="NAME", help="Option whose ropes and safety line are kept."),
    ] = None,
    anchors: Annotated[
        Names, typer.Option("--anchor", metavar="NAME", help="To start from.")
    ] = None,
    further: Annotated[
        Names, typer.Option("--further", metavar="NAME", help="To re-anchor or deviate at.")
    ] = None,
    means: Annotated[
        Names, typer.Option("--means", metavar="WORD", help="Protection at hand.")
    ] = None,
    best: Annotated[int, typer.Option("--best", metavar="N", min=1, help="How many to paste.")] = 3,
    changes: Set = None,
    replicates: Replicates = 256,
    seed: Seed = 0,
    workers: Workers = None,
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="DIR", help="Write page, tables and YAML there."),
    ] = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Try ways of rigging with the anchors and means at hand. The best as YAML."""
    from edgewear.report import print_proposals, write_proposals
    from edgewear.study.loading import load_changed
    from edgewear.study.proposals.propose import propose

    scenario = load_changed(file, changes or ())
    with progress_line(quiet) as told:
        found = propose(
            scenario, base, anchors or (), further or (), means or (), replicates, seed, workers,
            told,
        )  # fmt: skip
    page = None if out is None else write_proposals(found, best, out)
    if json:
        emit(found.as_json())
        return
    print_proposals(found, best, sys.stdout, width())
    if page is not None:
        print(f"\npage     {page}")


@app.command()
def board(
    file: File,
    port: Annotated[
        int,
        typer.Option("--port", metavar="N", min=0, max=65535, help="0 takes a free one."),
    ] = 0,
    show: Annotated[
        bool, typer.Option("--open/--no-open", help="Open the address in the browser.")
    ] = True,
    workers: Workers = None,
    quiet: Quiet = False,
) -> None:
    """Move things in the browser and see the order follow."""
    import webbrowser

    from edgewear.board.start import serve

    def ready(address: str) -> None:
        print(address, flush=True)
        if not quiet:
            told = "open on this machine alone, until Ctrl-C; whoever has the address may change"
            print(f"{file}: {told} the file", file=sys.stderr)
        if show:
            with suppress(webbrowser.Error):
                webbrowser.open(address)

    serve(Path(file), port, workers, ready)
