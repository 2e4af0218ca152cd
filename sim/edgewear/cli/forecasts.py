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


@forecasts.command("next")
def next_best(
    file: File,
    tests: Annotated[
        list[Path],
        typer.Option("--test", metavar="FILE", help="A test that could be made: a scenario."),
    ],
    option: Option = None,
    know: Annotated[
        str | None,
        typer.Option(
            "--know", metavar="ADDRESS", help="A number; by default the option's sheath worn."
        ),
    ] = None,
    vary: Annotated[
        list[str] | None,
        typer.Option(
            "--vary",
            metavar="ADDRESS=VALUES",
            help="Of the tests, such as 'edges/arris/radius=1 mm, 4 mm'.",
        ),
    ] = None,
    look_for: LookedFor = "core visible",
    looks: Annotated[
        str | None,
        typer.Option("--looks", metavar="VALUES", help="When it is looked: '1 m, 2 m, 4 m'."),
    ] = None,
    costs: Annotated[
        list[float] | None,
        typer.Option("--cost", metavar="NUMBER", help="Of each test, in order; by default 1."),
    ] = None,
    most: Annotated[int, typer.Option("--most", metavar="N", help="Tests of the plan.")] = 5,
    worlds: Annotated[int, typer.Option("--worlds", metavar="N", help="Draws held common.")] = 512,
    seed: Seed = 0,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Rank the tests to make next. By what they tell of an option, for their cost."""
    from edgewear.cli.terminal import progress_line
    from edgewear.forecasts.asked import set_ups
    from edgewear.forecasts.next_tests import next_tests
    from edgewear.report import print_next_tests
    from edgewear.study.loading import load_riggable

    made = set_ups(tests, vary or (), look_for, looks, costs or ())
    with progress_line(quiet) as told:
        found = next_tests(load_riggable(file), made, option, know, most, worlds, seed, told)
    if json:
        emit(found.as_json())
    else:
        print_next_tests(found, sys.stdout, width())


@forecasts.command("side-by-side")
def two_series(
    first: Annotated[
        list[str],
        typer.Option("--first", metavar="TEXT", help="Outcomes: '3 m to 4 m, at least 5 m'."),
    ],
    second: Annotated[
        list[str], typer.Option("--second", metavar="TEXT", help="Of the other rope, alike.")
    ],
    names: Annotated[
        str, typer.Option("--names", metavar="A,B", help="Of the two ropes.")
    ] = "first,second",
    of: Annotated[
        str,
        typer.Option("--of", metavar="WORD", help="What the figures are: length, time, count."),
    ] = "length",
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Compare two ropes tested on one edge. Says how many samples would tell."""
    from edgewear.forecasts.asked import named, outcomes
    from edgewear.forecasts.series import side_by_side
    from edgewear.report import print_sides

    found = side_by_side(outcomes(first, of), outcomes(second, of), named(names))
    if json:
        emit(found.as_json())
    else:
        print_sides(found, sys.stdout, width())
