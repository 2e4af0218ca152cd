"""Tests that could be made, and what was learned before them, from what was typed."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from edgewear.dataset.tables import Due, read_table
from edgewear.errors import DatasetError, ScenarioError, UsageError
from edgewear.forecasts.candidates import SetUp, varied
from edgewear.forecasts.freeze import read_seen
from edgewear.forecasts.from_programme import candidates_in, programme_at
from edgewear.forecasts.looking import lookings
from edgewear.forecasts.quantities import Seen

if TYPE_CHECKING:
    from edgewear.scenario.models.scenario import Scenario

Floats = NDArray[np.float64]


def set_ups(
    files: Sequence[Path],
    vary: Sequence[str],
    look_for: Sequence[str],
    looks: Sequence[str],
    costs: Sequence[float],
) -> list[SetUp]:
    """Read the tests that could be made: every option of every file, under every lever.

    Parameters:
        files: scenarios of tests, or files of tests, of which those still to be made count.
        vary: each `ADDRESS=VALUE, VALUE`; one that a file does not know does not vary there.
        look_for: what is looked for, for all files or for each in order; empty: what fits a test.
        looks: when it is looked, alike, each comma separated or "none"; empty: read off.
        costs: of each file, in order; empty: 1.

    Raises:
        UsageError: something that cannot be read, costs of another number, or no test left.
        ScenarioError: a file that cannot be used, as it is or with a value.
    """
    from edgewear.study.loading import load_riggable

    if costs and len(costs) != len(files):
        raise UsageError(f"{len(costs)} costs for {len(files)} tests")
    levers = [_lever(typed) for typed in vary]
    found = list[SetUp]()
    for number, looking in enumerate(lookings([str(file) for file in files], look_for, looks)):
        file, cost = files[number], costs[number] if costs else 1.0
        if (programme := programme_at(file)) is not None:
            found += candidates_in(programme, looking, cost)
            continue
        scenario = load_riggable(file)
        known = [lever for lever in levers if len(files) == 1 or _known(scenario, lever[0])]
        for name, one in varied(scenario, file.stem, known):
            for option in one.options:
                word = name if len(one.options) == 1 else f"{name}, {option}"
                found.append(SetUp(word, one, option, *looking.at(one), cost))
    if files and not found:
        listed = ", ".join(str(file) for file in files)
        raise UsageError(f"{listed}: all tests were made already; one without `seen` is due")
    return found


def _lever(typed: str) -> tuple[str, list[str]]:
    address, _, values = typed.partition("=")
    found = [value.strip() for value in values.split(",") if value.strip()]
    if not (address.strip() and found):
        raise UsageError(f"--vary {typed}: ADDRESS=VALUE, VALUE is due")
    return address.strip(), found


def _known(scenario: Scenario, address: str) -> bool:
    """Tell whether an address leads somewhere in a scenario."""
    try:
        return bool(scenario.resolve_addresses(address))
    except ScenarioError:
        return False


DIMENSIONS = {"length": "length", "time": "time", "count": "factor"}
"""What outcomes of a series may be -> dimension of the units table."""


def outcomes(typed: Sequence[str], of: str) -> list[Seen]:
    """Read the outcomes of a series, comma separated in each text.

    Raises:
        UsageError: what is no outcome, or a word for no kind of figure.
    """
    if of not in DIMENSIONS:
        raise UsageError(f"--of {of}: allowed are {', '.join(DIMENSIONS)}")
    return [
        read_seen(one, DIMENSIONS[of]) for text in typed for one in text.split(",") if one.strip()
    ]


def named(typed: str) -> tuple[str, str]:
    """Read two names with a comma between.

    Raises:
        UsageError: they are not two that differ.
    """
    names = [one.strip() for one in typed.split(",")]
    if len(names) != 2 or not all(names) or names[0] == names[1]:
        raise UsageError(f"--names {typed}: two names that differ, with a comma between")
    return names[0], names[1]


POSTERIOR = "posterior.parquet"

OF_THE_SAMPLE = ("population", "log_likelihood")
"""Columns that are no number of a scenario."""


def posterior(folder: str | Path) -> dict[str, Floats]:
    """Read the posterior that learning wrote: address -> (n,) in SI, a row a particle.

    Raises:
        DatasetError: there is none in the folder, it cannot be read, or holds what is no number.
    """
    root = Path(folder)
    table = read_table(root, POSTERIOR, Due((), True, None, None, 0, 0))
    names = [name for name in table.column_names if name not in OF_THE_SAMPLE]
    if not names or not table.num_rows:
        raise DatasetError(f"{root / POSTERIOR}: nothing was learned in it")
    return {name: _column(root, name, table.column(name).to_numpy()) for name in names}


def _column(root: Path, name: str, found: NDArray[np.generic]) -> Floats:
    if found.dtype.kind != "f" or not np.isfinite(found).all():
        raise DatasetError(f"{root / POSTERIOR}: {name}: finite numbers are due in every row")
    return np.asarray(found, dtype=np.float64)
