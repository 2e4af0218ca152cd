"""Commands about tests: forecast them before, score the forecasts after."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from edgewear.cli.app import File, Json, Option, Quiet, Replicates, Seed, Set, app
from edgewear.cli.terminal import emit, width

forecasts = typer.Typer(
    name="forecast",
    no_args_is_help=True,
    help="Forecast a test before it is made, and score the forecast after it.",
)
app.add_typer(forecasts)

LookedFor = Annotated[
    str,
    typer.Option("--look-for", metavar="WORD", help="Such as 'core visible' or 'sheath worn'."),
]


@forecasts.command()
def freeze(
    file: File,
    look_for: LookedFor = "core visible",
    option: Option = None,
    name: Annotated[
        str | None, typer.Option("--name", metavar="TEXT", help="Of the test and of the file.")
    ] = None,
    out: Annotated[
        Path, typer.Option("--out", metavar="DIR", help="Folder of the forecasts.")
    ] = Path("forecasts"),
    changes: Set = None,
    replicates: Replicates = 256,
    seed: Seed = 0,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Write down once what a test will see. Never written over; send its seal to somebody."""
    from edgewear.cautions import CAUTIONS
    from edgewear.forecasts.freeze import freeze
    from edgewear.forecasts.quantities import looked_for
    from edgewear.percentiles import between, known
    from edgewear.report import print_frozen
    from edgewear.study.loading import load_changed

    scenario = load_changed(file, changes or ())
    found, path = freeze(
        scenario, look_for, out, option, name, replicates, seed, changes or ()
    )  # fmt: skip
    levels = {f"p{p}": between(found.draws, p / 100) for p in (5, 50, 95)}
    if json:
        shown = {name: known(level) for name, level in levels.items()}
        document = {"file": str(path), "seal": found.seal, "looked_for": look_for, **shown}
        emit({"schema": "edgewear.forecast/1", **document, "cautions": CAUTIONS})
        return
    dimension = looked_for(look_for).dimension
    print_frozen(path, look_for, levels, dimension, found.seal, sys.stdout, width())


@forecasts.command("enter")
def enter_outcome(
    forecast: Annotated[Path, typer.Argument(metavar="FORECAST", help="The frozen file.")],
    seen: Annotated[
        str,
        typer.Option(
            "--seen", metavar="TEXT", help="'3 m to 4 m', '12 m', 'at least 5 m', 'at most 2 m'."
        ),
    ],
    on: Annotated[
        str | None,
        typer.Option("--on", metavar="DATE", help="Day of the test; by default today."),
    ] = None,
    note: Annotated[str, typer.Option("--note", metavar="TEXT", help="Anything else.")] = "",
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Write down once what came out of a test. In a file beside its forecast."""
    from edgewear.forecasts.freeze import enter

    found, path = enter(forecast, seen, on, note)
    if json:
        emit({"schema": "edgewear.test/1", "file": str(path), "seal": found.seal})
    else:
        print(f"Entered: {path}")


@forecasts.command()
def score(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Folder of the forecasts.")] = Path(
        "forecasts"
    ),
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Score every forecast whose test was entered; say what they earn. Seals are checked."""
    from edgewear.forecasts.folder import score_folder
    from edgewear.report import print_scores

    found = score_folder(folder)
    if json:
        emit(found.as_json())
    else:
        print_scores(found, sys.stdout, width())
    raise typer.Exit(65 if found.refused else 0)
