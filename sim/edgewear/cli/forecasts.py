"""Commands about tests: forecast them before, score the forecasts after."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from edgewear.cli.app import File, Json, Option, Quiet, Replicates, Seed, Set
from edgewear.cli.terminal import emit, width

if TYPE_CHECKING:
    from edgewear.findings.learning.scores import Scores
    from edgewear.forecasts.quantities import Seen

forecasts = typer.Typer(
    name="forecast",
    no_args_is_help=True,
    help="Forecast a test before it is made; score it after.",
)

LookedFor = Annotated[
    str,
    typer.Option("--look-for", metavar="WORD", help="Such as 'core visible' or 'sheath worn'."),
]
LookedForByEach = Annotated[
    list[str] | None,
    typer.Option(
        "--look-for",
        metavar="WORD",
        help="Of all tests, or of each in order; by default 'core visible', of a machine "
        "'core visible time'.",
    ),
]

Looks = Annotated[
    list[str] | None,
    typer.Option(
        "--looks",
        metavar="VALUES",
        help="When all tests, or each in order, are looked at: '1 m, 2 m', 'none'.",
    ),
]

TestName = Annotated[str | None, typer.Option("--test", metavar="NAME", help="Of a file of tests.")]


@forecasts.command()
def freeze(
    file: File,
    test: TestName = None,
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
    from edgewear.errors import UsageError
    from edgewear.forecasts.freeze import freeze
    from edgewear.forecasts.from_programme import named_test
    from edgewear.forecasts.quantities import looked_for
    from edgewear.percentiles import between, known
    from edgewear.report import print_frozen
    from edgewear.study.loading import load_changed

    if test is None:
        scenario = load_changed(file, changes or ())
    else:
        one = named_test(file, test)
        scenario, option, name = one.scenario, one.option, name or test
        if changes:
            raise UsageError("--set goes with a scenario; a test has what its file says")
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
        str | None,
        typer.Option(
            "--seen", metavar="TEXT", help="'3 m to 4 m', '12 m', 'at least 5 m', 'at most 2 m'."
        ),
    ] = None,
    tests: Annotated[
        Path | None, typer.Option("--from", metavar="TESTS", help="A file of tests instead.")
    ] = None,
    test: TestName = None,
    on: Annotated[
        str | None,
        typer.Option("--on", metavar="DATE", help="Day of the test; by default today."),
    ] = None,
    note: Annotated[str, typer.Option("--note", metavar="TEXT", help="Anything else.")] = "",
    rope: Annotated[
        str,
        typer.Option(
            "--rope",
            metavar="NAME",
            help="Which rope, where several were tested alike that day: each is a test of its own.",
        ),
    ] = "",
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Write down once what came out of a test. In a file beside its forecast."""
    from edgewear.errors import UsageError
    from edgewear.forecasts.freeze import enter
    from edgewear.forecasts.from_programme import named_test, seen_in
    from edgewear.forecasts.frozen import read_frozen

    if (seen is None) == (tests is None):
        raise UsageError("what came out: either --seen TEXT or --from TESTS is due")
    came: str | Seen = seen or ""
    if tests is not None:
        frozen = read_frozen(forecast)
        one = named_test(tests, test or frozen.name)
        came, on = seen_in(one, frozen.looked_for), on or one.on or None
        rope = rope or one.name
    found, path = enter(forecast, came, on, note, rope)
    if json:
        emit({"schema": "edgewear.test/1", "file": str(path), "seal": found.seal})
    else:
        print(f"Entered: {path}")


@forecasts.command()
def score(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Folder of the forecasts.")] = Path(
        "forecasts"
    ),
    picture: Annotated[
        Path | None,
        typer.Option("--picture", metavar="PATH", help="Draw the reliability diagram, as SVG."),
    ] = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Score every forecast whose test was entered; say what they earn. Seals are checked."""
    from edgewear.forecasts.folder import score_folder
    from edgewear.report import print_scores

    found = score_folder(folder)
    if picture is not None:
        _draw(found, picture)
    if json:
        emit(found.as_json())
    else:
        print_scores(found, sys.stdout, width())
    raise typer.Exit(65 if found.refused else 0)


def _draw(found: Scores, picture: Path) -> None:
    from edgewear.report.drawings.pictures import standalone
    from edgewear.report.learning.diagram import reliability_picture
    from edgewear.report.write import write_files

    drawn = standalone(reliability_picture(found))
    write_files(picture.parent, {picture.name: drawn.encode()})


@forecasts.command("next")
def next_best(
    file: File,
    tests: Annotated[
        list[Path],
        typer.Option("--test", metavar="FILE", help="A scenario, or a file of tests to be made."),
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
    look_for: LookedForByEach = None,
    looks: Looks = None,
    costs: Annotated[
        list[float] | None,
        typer.Option("--cost", metavar="NUMBER", help="Of each test, in order; by default 1."),
    ] = None,
    learned: Annotated[
        Path | None,
        typer.Option("--learned", metavar="DIR", help="What `learn` wrote: go on from it."),
    ] = None,
    most: Annotated[int, typer.Option("--most", metavar="N", help="Tests of the plan.")] = 5,
    worlds: Annotated[int, typer.Option("--worlds", metavar="N", help="Draws held common.")] = 512,
    seed: Seed = 0,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Rank the tests to make next. By what they tell of an option, for their cost."""
    from edgewear.cli.terminal import progress_line
    from edgewear.forecasts.asked import posterior, set_ups
    from edgewear.forecasts.next_tests import next_tests
    from edgewear.report import print_next_tests
    from edgewear.study.loading import load_riggable

    made = set_ups(tests, vary or (), look_for or (), looks or (), costs or ())
    sample = None if learned is None else posterior(learned)
    job = load_riggable(file)
    with progress_line(quiet) as told:
        found = next_tests(job, made, option, know, most, worlds, seed, told, sample)
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
