"""Commands about one scenario: check, run, compare, observe, and the report again."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from edgewear.cli.app import (
    Details,
    Device,
    File,
    Files,
    Folders,
    Json,
    Option,
    Out,
    Quiet,
    Replicates,
    Seed,
    Set,
    Workers,
    app,
)
from edgewear.cli.terminal import emit, progress_line, width


@app.command()
def check(
    files: Files,
    changes: Set = None,
    details: Details = False,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Validate scenarios; say what was understood."""
    from edgewear.report import print_look_at, print_understood
    from edgewear.study.check import check, document

    understood = check(files, changes or ())
    if json:
        emit(document(understood))
    else:
        print_understood([one.lines(details) for one in understood], sys.stdout, width())
    if not quiet:
        print_look_at([(str(one.file), one.look_at) for one in understood], sys.stderr, width())


@app.command()
def run(
    file: File,
    option: Option = None,
    changes: Set = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Play one option once. Nominal values: timeline, what each edge did, margin, loads."""
    from edgewear.report import print_run
    from edgewear.study.loading import load_changed
    from edgewear.study.single import simulate

    document = {**simulate(load_changed(file, changes or ()), option), "changes": changes or []}
    if json:
        emit(document)
    else:
        print_run(document, sys.stdout, width())


@app.command()
def compare(
    file: File,
    replicates: Replicates = 256,
    seed: Seed = 0,
    workers: Workers = None,
    device: Device = "cpu",
    out: Out = None,
    changes: Set = None,
    details: Details = False,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Rank the options under common draws. Table, dataset, report page."""
    from dataclasses import replace

    from edgewear.dataset.reading import open_dataset
    from edgewear.report import print_ranking, write_ranked
    from edgewear.study.compare import compare
    from edgewear.study.loading import load_changed

    scenario = load_changed(file, changes or ())
    with progress_line(quiet) as told:
        ranking = compare(scenario, replicates, seed, workers, out, told, changes or (), device)
    folder = Path(ranking.dataset)
    page = write_ranked(ranking, open_dataset(folder), folder)
    ranking = replace(ranking, report=str(page))
    if json:
        emit(ranking.as_json())
    else:
        print_ranking(ranking, sys.stdout, width(), details)
    raise typer.Exit(1 if any(option.failed for option in ranking.options) else 0)


@app.command()
def report(
    folders: Folders,
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="DIR", help="By default the first dataset's folder."),
    ] = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Write the report again from datasets. The first is the one decided on."""
    from edgewear.report import write_report

    page = write_report(folders, out or folders[0])
    if json:
        emit({"schema": "edgewear.report/1", "report": str(page)})
    else:
        print(page)


@app.command()
def observe(
    file: File,
    replicates: Replicates = 512,
    seed: Seed = 0,
    workers: Workers = None,
    out: Out = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Correct a forecast by what was measured on site. Report and cards again."""
    from edgewear.report import print_observed, take_away, write_ranked
    from edgewear.study.correction.site_correction import observe

    with progress_line(quiet) as told:
        found = observe(file, replicates, seed, workers, out, told)
    folder, page = Path(found.before.dataset), None
    if found.after is not None and found.dataset is not None:
        page = write_ranked(found.after, found.dataset, folder, "observed")
    document = found.as_json(None if page is None else str(page))
    if json:
        emit(document)
    else:
        print_observed(document, sys.stdout, width())
    # said first: whoever cannot have the old pages removed still reads that the work stops
    if page is None and take_away(folder, "observed"):
        warning = "removed what an earlier run had corrected here; use no card printed of it"
        print(f"{folder / 'observed'}: {warning}", file=sys.stderr)
    raise typer.Exit(0 if document["holds"] else 1)
