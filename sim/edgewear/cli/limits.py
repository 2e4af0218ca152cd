"""Commands that ask the other way round: how far."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from edgewear.cli.app import File, Json, Quiet, Replicates, Seed, Set, Workers, app
from edgewear.cli.terminal import emit, progress_line, say, width
from edgewear.errors import UsageError

if TYPE_CHECKING:
    from edgewear.scenario import Scenario

Inputs = Annotated[
    list[str] | None,
    typer.Option(
        "--input",
        metavar="ADDRESS[=LOW..HIGH]",
        help="What may change, such as edges/lip/radius or 'options/*/over/1/after=2 m..30 m'; "
        "job/times is how often the whole job is done. Without any: list what can be asked.",
    ),
]
Over = Annotated[
    str | None,
    typer.Option(
        "--over", metavar="ADDRESS[=LOW..HIGH]", help="A second input: limits at five values of it."
    ),
]
Options = Annotated[
    list[str] | None, typer.Option("--option", metavar="NAME", help="By default every option.")
]
Target = Annotated[
    str | None,
    typer.Option("--target", metavar="SHARE", help="By default the scenario's, such as 60 %."),
]


@app.command("how-far")
def how_far(
    file: File,
    inputs: Inputs = None,
    over: Over = None,
    options: Options = None,
    target: Target = None,
    changes: Set = None,
    replicates: Replicates = 256,
    seed: Seed = 0,
    workers: Workers = None,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="DIR", help="Write page and tables there.")
    ] = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Find how far inputs may go before a target is missed."""
    from edgewear.report import print_how_far, write_how_far
    from edgewear.study.limits.asked import share_of
    from edgewear.study.limits.limit import how_far
    from edgewear.study.loading import load_changed

    scenario = load_changed(file, changes or ())
    if not inputs:
        _list(scenario, options or list(scenario.options), json)
        return
    wanted = None if target is None else share_of(target)
    with progress_line(quiet) as told:
        found = how_far(
            scenario, inputs, options or (), wanted, replicates, seed, workers, told,
            changes or (), over,
        )  # fmt: skip
    page = None if out is None else write_how_far(found, out)
    if json:
        emit(found.as_json())
        return
    print_how_far(found, sys.stdout, width())
    if page is not None:
        print(f"\npage     {page}")


def _list(scenario: Scenario, options: Sequence[str], json: bool) -> None:
    """Say what can be asked of each option."""
    from edgewear.study.limits.asked import inputs_of

    found = {option: list(inputs_of(scenario, option)) for option in options}
    if json:
        inputs = {
            option: [{"address": a, "present": v, "unit": u} for a, v, u in one]
            for option, one in found.items()
        }
        emit({"schema": "edgewear.how-far-inputs/1", "inputs": inputs})
        return
    say("Name what may change with --input; these can be asked, now at (SI):")
    for address, present, unit in dict.fromkeys(one for many in found.values() for one in many):
        say(f"  {address}  {present:g} {unit}".removesuffix(" 1"))


@app.command("what-matters")
def what_matters(
    place: Annotated[
        Path, typer.Argument(metavar="DIR|FILE", help="A finished dataset, or a scenario.")
    ],
    options: Options = None,
    outcome: Annotated[
        str, typer.Option("--outcome", metavar="COLUMN", help="Of a dataset's runs.")
    ] = "sheath_margin",
    base: Annotated[
        int,
        typer.Option("--base", metavar="N", help="Of a scenario's design, a power of 2."),
    ] = 64,
    seed: Seed = 0,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="DIR", help="Write page and tables there.")
    ] = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Say which inputs decide, by a dataset or a design."""
    from edgewear.report import print_what_matters, write_what_matters
    from edgewear.study.loading import load_riggable
    from edgewear.study.sensitivity import matters

    if place.is_dir():
        found = matters.what_matters(place, outcome, options or ())
    elif outcome != matters.OUTCOME:
        raise UsageError("what-matters: --outcome goes with a dataset, not with a scenario")
    else:
        found = matters.what_would_matter(load_riggable(place), options or (), base, seed)
    page = None if out is None else write_what_matters(found, out)
    if json:
        emit(found.as_json())
        return
    print_what_matters(found, sys.stdout, width())
    if page is not None:
        print(f"\npage     {page}")
