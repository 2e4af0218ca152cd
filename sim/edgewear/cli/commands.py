"""The commands: each parses what was typed, calls one room and prints what it hands back."""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from edgewear.cli.terminal import emit

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


@app.callback(invoke_without_command=True)
def edgewear(
    version: Annotated[bool, typer.Option("--version", help="Print the version and end.")] = False,
) -> None:
    """Take the options that belong to no command."""
    if version:
        from importlib.metadata import version as version_of

        print(version_of("edgewear"))
        raise typer.Exit


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
