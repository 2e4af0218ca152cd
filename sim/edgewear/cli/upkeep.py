"""Commands about the installation itself."""

from __future__ import annotations

import sys

import typer

from edgewear.cli.app import Json, Quiet, app
from edgewear.cli.terminal import emit


@app.command("self-check")
def self_check(json: Json = False, quiet: Quiet = False) -> None:
    """Look at the installation: versions, caches, a small run against its closed form."""
    from edgewear.study.self_check import self_check

    found = self_check()
    if json:
        emit(found.as_json())
    else:
        print("\n".join(found.lines()))
    if not found.ok and not quiet:
        print("something is not as it should be here", file=sys.stderr)
    raise typer.Exit(0 if found.ok else 1)
