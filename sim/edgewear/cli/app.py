"""The command that all others hang on, and the options that several of them share."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

app = typer.Typer(
    name="edgewear",
    no_args_is_help=True,
    add_completion=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    help="Project sheath wear of ropes over edges, and compare ways of rigging a job. What comes "
    "out is a projection, not permission.",
)

Json = Annotated[bool, typer.Option("--json", help="Print one JSON document to stdout.")]
Quiet = Annotated[bool, typer.Option("--quiet", help="Print nothing to stderr but errors.")]
Details = Annotated[bool, typer.Option("--details", help="Print what lies behind it too.")]
File = Annotated[Path, typer.Argument(metavar="FILE", help="A scenario.", show_default=False)]
Files = Annotated[list[Path], typer.Argument(metavar="FILE...", help="Scenarios.")]
Folder = Annotated[Path, typer.Argument(metavar="DIR", help="A finished dataset.")]
Folders = Annotated[
    list[Path], typer.Argument(metavar="DIR...", help="Finished comparisons; sweeps have no ranks.")
]
Option = Annotated[
    str | None, typer.Option("--option", metavar="NAME", help="By default the first one.")
]
Out = Annotated[
    Path | None, typer.Option("--out", metavar="DIR", help="By default results/<file stem>/.")
]
Replicates = Annotated[
    int, typer.Option("--replicates", metavar="N", help="Trials, the same for all.")
]
Seed = Annotated[int, typer.Option("--seed", metavar="S", help="Of all draws.")]
Set = Annotated[
    list[str] | None,
    typer.Option("--set", metavar="ADDRESS=VALUE", help="A what-if: as if the file said so."),
]
Device = Annotated[
    str, typer.Option("--device", metavar="NAME", help="cpu; or cuda, an experiment.")
]
Workers = Annotated[
    int | None,
    typer.Option("--workers", metavar="N", help="Worker processes. No result depends on it."),
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
