"""Commands about what can go wrong: faults."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from edgewear.cli.app import Details, File, Json, Option, Quiet, Replicates, Seed, Workers, app
from edgewear.cli.terminal import emit, progress_line, width
from edgewear.errors import UsageError

if TYPE_CHECKING:
    from edgewear.findings.procedure import Findings
    from edgewear.findings.timeline import Timeline

DOES_NOT_HOLD = 3
"""Exit code of `faults` where something is held against the procedure."""


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
    remedy: Annotated[
        bool,
        typer.Option(
            "--remedy/--no-remedy", help="Look for the one change that would remove most of it."
        ),
    ] = True,
    audit: Annotated[
        Path | None,
        typer.Option("--audit", metavar="FILE", help="Write an audit sheet there, to be signed."),
    ] = None,
    course: Annotated[
        list[str] | None,
        typer.Option("--course", metavar="FAULT", help="On it the course of a fault, or `every`."),
    ] = None,
    details: Details = False,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Put every failure and fault into a procedure. What holds, who sees it, when.

    Ends with exit code 3 where something does not hold, is not known to hold, is above a limit
    that the scenario sets, or leaves somebody falling, or hanging with no rescue shown. Any other
    end is no permission.
    """
    from edgewear.procedure.faults import faults
    from edgewear.report import print_faults, write_faults

    if course:
        from edgewear.procedure.judged.audit import check_courses

        if audit is None:
            raise UsageError("--course: courses stand on an audit sheet; name it with --audit")
        check_courses(other or file, option, course)
    with progress_line(quiet) as told:
        found = faults(
            file, other, option=option, replicates=replicates, seed=seed, workers=workers,
            progress=told, remedy=remedy,
        )  # fmt: skip
    if audit is not None:
        found = _audited(found, [file] if other is None else [file, other], course or [], audit)
    if picture is not None:
        _draw(found.timeline, picture)
    page = write_faults(found, out) if out is not None else None
    if json:
        emit(found.as_json())
    else:
        print_faults(found, sys.stdout, width(), details)
        written = {"page": page, "audit": audit, "picture": picture}
        named = [f"{what:<9}{path}\n" for what, path in written.items() if path is not None]
        sys.stdout.write("\n" * bool(named) + "".join(named))
    raise typer.Exit(DOES_NOT_HOLD if found.verdict.fails else 0)


def _audited(
    found: Findings, files: Sequence[Path], courses: Sequence[str], sheet: Path
) -> Findings:
    """Write the audit sheet, and put what stands on it into the document."""
    from edgewear.procedure.judged.audit import audit
    from edgewear.report import write_audit

    whole = replace(found, audit=audit(found, files, courses))
    write_audit(whole, sheet)
    return whole


def _draw(timeline: Timeline, picture: Path) -> None:
    from edgewear.report import faults_picture
    from edgewear.report.drawings.pictures import standalone
    from edgewear.report.write import write_files

    drawn = standalone(faults_picture(timeline))
    write_files(picture.parent, {picture.name: drawn.encode()})
