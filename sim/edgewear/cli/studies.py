"""Commands about studies: sweep and replay."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from edgewear.cli.app import Device, Folder, Json, Quiet, Workers, app
from edgewear.cli.terminal import duration_text, emit, progress_line, say, width
from edgewear.errors import DatasetError, UsageError


@app.command()
def sweep(
    file: Annotated[
        Path | None, typer.Argument(metavar="FILE", help="A scenario with a study.")
    ] = None,
    out: Annotated[Path | None, typer.Option("--out", metavar="DIR", help="The dataset.")] = None,
    workers: Workers = None,
    cluster: Annotated[
        str | None,
        typer.Option("--cluster", metavar="ADDRESS", help="Of a running dask scheduler."),
    ] = None,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Say what it would take; write nothing.")
    ] = False,
    edges: Annotated[
        bool, typer.Option("--edges", help="Keep what happened at every edge of every run.")
    ] = False,
    device: Device = "cpu",
    verify: Annotated[
        Path | None, typer.Option("--verify", metavar="DIR", help="Check a dataset instead.")
    ] = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Run a study to parquet. The same command resumes one that was stopped."""
    if verify is not None:
        _verify(verify, json)
    elif file is None:
        raise UsageError("sweep: a scenario with a study is missing")
    elif dry_run:
        _estimate(file, workers, edges, device, json)
    elif out is None:
        raise UsageError("sweep: --out DIR is missing: the dataset needs a place")
    else:
        _sweep(file, out, workers, cluster, edges, device, json, quiet)


def _sweep(
    file: Path,
    out: Path,
    workers: int | None,
    cluster: str | None,
    edges: bool,
    device: str,
    json: bool,
    quiet: bool,
) -> None:
    from edgewear.study.sweeping.sweep import sweep

    with progress_line(quiet) as told:
        result = sweep(file, out, workers, cluster, told, edges=edges, device=device)
    for name in result.foreign:
        print(f"{name}: no part of this study, left alone", file=sys.stderr)
    if json:
        emit(result.as_json())
    else:
        say(f"{result.rows:,} rows, {result.failed:,} failed: {result.dataset}")
        _what_decides(result.dataset)
    raise typer.Exit(1 if result.failed else 0)


def _what_decides(folder: str) -> None:
    """End a study with the inputs that decide, and a page of them in its folder."""
    from edgewear.report import print_what_matters, write_what_matters
    from edgewear.study.sensitivity.matters import what_matters

    try:
        found = what_matters(folder)
    except UsageError as error:
        say(str(error))
        return
    page = write_what_matters(found, Path(folder))
    print()
    print_what_matters(found, sys.stdout, width())
    print(f"\npage     {page}")


def _estimate(file: Path, workers: int | None, edges: bool, device: str, json: bool) -> None:
    from edgewear.study.sweeping.sweep import dry_run

    found = dry_run(file, workers, edges, device)
    if json:
        emit(found.as_json())
        return
    print(f"rows     {found.rows:,}")
    most = "" if found.chunks * found.rows_a_chunk == found.rows else "at most "
    print(f"chunks   {found.chunks:,} of {most}{found.rows_a_chunk:,} rows")
    if found.device != "cpu":
        plays = ", ".join(found.on_device) or "no option"
        say(f"device   {found.device} plays {plays}; what it does not take, the processor does")
    say(f"time     about {duration_text(found.seconds)} with {found.workers} workers here")
    print(f"size     about {found.bytes / 1e6:,.1f} MB")


def _verify(folder: Path, json: bool) -> None:
    from edgewear.dataset.reading import open_dataset

    damages = open_dataset(folder).verify()
    if json:
        emit({"schema": "edgewear.dataset-check/1", "dataset": str(folder), "damages": damages})
    for damage in damages:
        print(damage, file=sys.stderr)
    if damages:
        raise typer.Exit(DatasetError.exit_code)
    if not json:
        say(f"{folder}: every file is as its manifest says")


@app.command()
def deposit(
    folder: Folder,
    out: Annotated[Path, typer.Option("--out", metavar="FILE", help="The bundle, a ZIP file.")],
    licence: Annotated[
        str | None,
        typer.Option("--licence", metavar="NAME", help="Under which you give the data."),
    ] = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Bundle a dataset for an archive. With checksums, citation and licence."""
    from edgewear.dataset.deposit import deposit

    written = deposit(folder, out, licence)
    if json:
        emit({"schema": "edgewear.deposit/1", "file": str(out), "sha256": written.sha256})
    else:
        print(f"{written.sha256}  {out}")


@app.command()
def replay(
    folder: Folder,
    run: Annotated[int, typer.Argument(metavar="RUN", help="Row number in the plan.")],
    traces: Annotated[
        Path | None,
        typer.Option(
            "--traces",
            metavar="DIR",
            help="Write its events, wear along the rope and timeline there, as parquet.",
        ),
    ] = None,
    rate: Annotated[
        float | None,
        typer.Option(
            "--rate", metavar="HZ", help="Samples of the timeline a second; 10 if left out."
        ),
    ] = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Play one run of a dataset again. Compared with what was written."""
    from edgewear.study.replay import replay

    found = replay(folder, run, traces, rate)
    if json:
        emit(found.as_json())
    else:
        how = "bit for bit" if found.exact else "to 1e-9, other versions or a device made it"
        verdict = "the same" if found.same else "NOT the same"
        say(f"run {found.run}, {found.option}: {verdict}, {how}")
        for difference in found.differences:
            say(f"  {difference}")
        for path in found.traces:
            print(path)
    raise typer.Exit(0 if found.same else 1)
