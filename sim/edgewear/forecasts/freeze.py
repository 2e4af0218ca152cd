"""Freezing a forecast of a test, and entering what came out of it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import UTC, date, datetime
from hashlib import sha256
from importlib.metadata import version
from math import inf
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from edgewear.errors import CannotCreate, UsageError
from edgewear.forecasts.frozen import (
    FORECAST,
    ONCE,
    SEEN,
    CameOut,
    Frozen,
    read_frozen,
    write_once,
)
from edgewear.forecasts.quantities import Seen, looked_for, read_from
from edgewear.records import MODEL

if TYPE_CHECKING:
    from edgewear.scenario.models.scenario import Scenario

Floats = NDArray[np.float64]

FACTORS = (1 / 9, 1 / 3, 1.0, 3.0, 9.0)
"""Of the exposure: a wrong law is looked for that far to either side."""

WORLDS = 32
"""Worlds in which the factors are played: what differs from rope to rope and stroke to stroke."""

REPLICATES = 256
DISCREPANCY = "wear/discrepancy"


def freeze(
    scenario: Scenario,
    looked: str,
    out: Path,
    option: str | None = None,
    name: str | None = None,
    replicates: int = REPLICATES,
    seed: int = 0,
    changes: Sequence[str] = (),
) -> tuple[Frozen, Path]:
    """Forecast what a test will see, and write that down once.

    Parameters:
        scenario: the test's set-up.
        looked: what is looked for, a word of `quantities.LOOKED_FOR`.
        out: folder of the forecasts; made where it is missing.
        option: the first one if left out.
        name: of the test and its file; by default from the scenario's title and option.
        replicates: draws; seed: of all draws.
        changes: what was set beside the file, as typed.

    Returns: the forecast and its file.

    Raises:
        UsageError: an option or word that is not there.
        RunFailed: a run that cannot be computed.
        CannotCreate: a forecast of that name is there already.
    """
    from dataclasses import replace

    looked_for(looked)
    options = list(scenario.options)
    chosen = options[0] if option is None else option
    if chosen not in options:
        raise UsageError(f"no option is called {chosen!r}; there are {', '.join(options)}")
    if replicates < 2:
        raise UsageError(f"replicates: {replicates}; at least 2 are allowed")
    known = name or f"{scenario.title} {chosen} {looked}"
    path = out / f"{_file_name(known)}{FORECAST}"
    if path.exists():
        raise CannotCreate(f"{path}: {ONCE}")
    found = _forecast(scenario, chosen, known, looked, replicates, seed, tuple(changes))
    return replace(found, seal=write_once(path, found.body())), path


def _forecast(
    scenario: Scenario,
    option: str,
    name: str,
    looked: str,
    replicates: int,
    seed: int,
    changes: tuple[str, ...],
) -> Frozen:
    draws, at_factors, until = _played(scenario, option, looked, replicates, seed)
    law = scenario.wear.discrepancy
    return Frozen(
        name=name,
        frozen=datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ"),
        version=version("edgewear"),
        model=MODEL,
        scenario=Path(scenario.path).name,
        scenario_sha256=sha256(scenario.source.encode()).hexdigest(),
        library_sha256=library_sha256(scenario.library_source),
        changes=changes,
        option=option,
        looked_for=looked,
        until=until,
        seed=seed,
        discrepancy=(law.value, law.low, law.high),
        draws=_as_written(np.sort(draws)),
        factors=np.array(FACTORS),
        at_factors=_as_written(at_factors),
    )


def library_sha256(own: str | None) -> str:
    """Give the sha256 of the built-in library's files, in order, and of the user's own."""
    from edgewear.scenario.read.libraries import FOLDER

    found = sha256()
    for path in sorted(FOLDER.glob("*.yaml")):
        found.update(path.read_bytes())
    found.update((own or "").encode())
    return found.hexdigest()


def _played(
    scenario: Scenario, option: str, looked: str, replicates: int, seed: int
) -> tuple[Floats, Floats, float]:
    """Play a test: (n,) draws, (worlds, factors) figures, and how far the job goes."""
    from edgewear.study.compare import drawn
    from edgewear.study.model import ScenarioModel
    from edgewear.study.plan import Block, ComparePlan
    from edgewear.study.task import playing, refuse_parts

    model = ScenarioModel.of(scenario, seed)
    known = drawn(model.uncertainties(option))
    plan = ComparePlan({option: known}, max(replicates, WORLDS), seed, 1.0)

    def figures(rows: Block) -> tuple[Floats, float]:
        runs = playing(model, rows).runs
        refuse_parts(option, runs)
        return read_from(runs, looked)

    draws, until = figures(plan.block(0, replicates))
    if not looked_for(looked).of_exposure or DISCREPANCY not in {one.name for one in known}:
        return draws, np.zeros((0, len(FACTORS))), until
    rows = plan.block(0, WORLDS)
    for one in known:
        if one.kind != "aleatory":
            rows[one.name] = np.full(WORLDS, float(one.median))
    columns = []
    for factor in FACTORS:
        rows[DISCREPANCY] = np.full(WORLDS, float(factor))
        column, end = figures(rows)
        until = max(until, end)
        columns.append(column)
    return draws, np.column_stack(columns), until


def _as_written(values: Floats) -> Floats:
    """Round to the six digits that a file has, so that what is read again is the same."""
    return np.array([float(f"{one:.6g}") for one in values.flat]).reshape(values.shape)


def enter(
    path: Path, typed: str | Seen, on: str | None = None, note: str = "", rope: str = ""
) -> tuple[CameOut, Path]:
    """Write down what came out of a test whose forecast was frozen.

    Parameters:
        path: of the forecast.
        typed: `3 m to 4 m`, `12 m`, `at least 5 m` (it ended before), `at most 2 m`; or what was
            seen, in SI.
        on: day of the test, 2026-05-31; today if left out.
        note: anything else.
        rope: which it was. Figures of one scenario and option that were seen on one day count as
            one test, unless they are of ropes named differently.

    Returns: what came out, and its file beside the forecast.

    Raises:
        UsageError: no interval, or no date.
        Mismatch: the forecast was changed after it was written.
        CannotCreate: something was entered before.
    """
    forecast = read_frozen(path)
    day = on or date.today().isoformat()
    try:
        date.fromisoformat(day)
    except ValueError as error:
        raise UsageError(f"--on {day}: a date is due, such as 2026-05-31") from error
    if isinstance(typed, Seen):
        seen, said = typed, "from a file of tests"
    else:
        seen, said = read_seen(typed, looked_for(forecast.looked_for).dimension), typed
    found = CameOut(seen, said, day, note, forecast.seal, rope=rope)
    target = path.with_name(path.name.removesuffix(FORECAST) + SEEN)
    write_once(target, found.body())
    return found, target


def read_seen(typed: str, dimension: str) -> Seen:
    """Read what was seen: a figure, an interval, `at least` or `at most` one.

    Raises:
        UsageError: it is something else.
    """
    from edgewear.scenario.text.quantities import Quantity
    from edgewear.scenario.text.quantity_text import QuantityProblem, read_quantity

    first, _, rest = typed.strip().partition(" ")
    word, _, figure = rest.partition(" ")
    ended = first == "at" and word in ("least", "most")
    try:
        found = read_quantity(figure if ended else typed, Quantity(dimension), {})
    except QuantityProblem as problem:
        raise UsageError(f"seen {typed!r}: {problem}") from problem
    if ended:
        return Seen(found.value, inf) if word == "least" else Seen(0.0, found.value)
    return Seen(found.low, found.high)


def _file_name(name: str) -> str:
    """Make a name that any file system takes."""
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "test"
