"""The commands: each parses what was typed, calls one room and prints what it hands back."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from edgewear.cli.terminal import emit, progress_line, width

app = typer.Typer(
    name="edgewear",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    help="Project sheath wear of ropes over edges, and compare ways of rigging a job. What comes "
    "out is a projection, not permission.",
)

Json = Annotated[bool, typer.Option("--json", help="Print one JSON document to stdout.")]
Quiet = Annotated[bool, typer.Option("--quiet", help="Print nothing to stderr but errors.")]
File = Annotated[Path, typer.Argument(metavar="FILE", help="A scenario.", show_default=False)]
Files = Annotated[list[Path], typer.Argument(metavar="FILE...", help="Scenarios.")]
Folders = Annotated[list[Path], typer.Argument(metavar="DIR...", help="Finished datasets.")]
Out = Annotated[Path | None, typer.Option("--out", metavar="DIR")]
Seed = Annotated[int, typer.Option("--seed", metavar="S", help="Of all draws.")]
Workers = Annotated[
    int | None,
    typer.Option(
        "--workers",
        metavar="N",
        help="Worker processes; by default as the size asks. Results do not depend on it.",
    ),
]


@app.callback(invoke_without_command=True)
def edgewear(
    version: Annotated[bool, typer.Option("--version", help="Print the version and end.")] = False,
) -> None:
    """Take the options that belong to no command."""
    if version:
        from importlib.metadata import version as version_of

        print(version_of("edgewear"))
        raise typer.Exit


@app.command()
def check(files: Files, json: Json = False, quiet: Quiet = False) -> None:
    """Validate scenarios; a summary of what was understood."""
    from edgewear.study.check import check, document

    understood = check(files)
    if json:
        emit(document(understood))
    else:
        print("\n\n".join(one.text() for one in understood))
    if not quiet:
        for warning in (text for one in understood for text in one.warnings):
            print(warning, file=sys.stderr)


@app.command()
def run(
    file: File,
    option: Annotated[
        str | None, typer.Option("--option", metavar="NAME", help="By default the first one.")
    ] = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Play one option once with nominal values: timeline, what each edge did, margin, loads."""
    from edgewear.report import print_run
    from edgewear.study.single import simulate

    document = simulate(file, option)
    if json:
        emit(document)
    else:
        print_run(document, sys.stdout, width())


@app.command()
def compare(
    file: File,
    replicates: Annotated[
        int, typer.Option("--replicates", metavar="N", help="Trials an option.")
    ] = 256,
    seed: Seed = 0,
    workers: Workers = None,
    out: Out = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Rank every option under common draws: table, dataset, report page."""
    from dataclasses import replace

    from edgewear.report import print_ranking, write_report
    from edgewear.study.compare import compare

    with progress_line(quiet) as told:
        ranking = compare(file, replicates, seed, workers, out, told)
    page = write_report([Path(ranking.dataset)], Path(ranking.dataset))
    ranking = replace(ranking, report=str(page))
    if json:
        emit(ranking.as_json())
    else:
        print_ranking(ranking, sys.stdout, width())
    raise typer.Exit(1 if any(option.failed for option in ranking.options) else 0)


@app.command()
def report(folders: Folders, out: Out = None, json: Json = False, quiet: Quiet = False) -> None:
    """Write the report again from finished datasets; the first is the one decided on."""
    from edgewear.report import write_report

    page = write_report(folders, out or folders[0])
    if json:
        emit({"schema": "edgewear.report/1", "report": str(page)})
    else:
        print(page)


@app.command("self-check")
def self_check(json: Json = False, quiet: Quiet = False) -> None:
    """Look at the installation: versions, caches, a small run against its closed form."""
    from edgewear.study.self_check import self_check

    found = self_check()
    if json:
        emit(found.as_json())
    else:
        for name, text in found.versions.items():
            print(f"{name:12} {text}")
        for finding in found.findings:
            print(f"{'ok' if finding.ok else 'NOT OK':7} {finding.name}: {finding.detail}")
    if not found.ok and not quiet:
        print("something is not as it should be here", file=sys.stderr)
    raise typer.Exit(0 if found.ok else 1)
