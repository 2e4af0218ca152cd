"""What `check` accepts, then run, compared, observed and swept with few trials."""

from __future__ import annotations

import random
import tempfile
from collections.abc import Callable
from copy import deepcopy
from pathlib import Path
from typing import Any

import numpy as np

from edgewear.errors import EdgewearError, RunFailed, ScenarioError
from edgewear.scenario import Scenario
from fuzz.kinds import SCENARIOS
from fuzz.mutants import change, dumped, parsed

LARGEST_RESIDUAL = 1e-3
"""Share of the energy that a row may have lost track of and still count as computed."""

MOST_ROWS = 64
"""Rows of a study that is swept here: whether it falls is seen by a few, and many take minutes."""


def accepted(seed: int) -> Scenario | None:
    """A spoilt scenario that `check` accepts, or None."""
    from edgewear.study.check import check

    rng = random.Random(seed)
    data: Any = deepcopy(parsed(rng.choice(SCENARIOS)))
    for _ in range(rng.choice((1, 1, 2))):
        change(data, rng)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "scenario.yaml"
        path.write_bytes(dumped(data))
        try:
            return check([path])[0].scenario
        except EdgewearError:
            return None


GIVEN_UP = "was given up"
REASONS = (", step ", "energy does not close", "would break", GIVEN_UP)


def run_fell(scenario: Scenario, reasons: tuple[str, ...] = REASONS) -> str:
    """Run the first option; say which promise fell, empty: none.

    A run that fails says why: at which step, or what came out that cannot have happened.
    """
    from edgewear.study.single import simulate

    try:
        found = simulate(scenario, None)
    except RunFailed as error:
        return "" if any(said in str(error) for said in reasons) else f"no reason: {error}"
    except ScenarioError as error:
        return "" if all(p.address for p in error.problems) else f"no address: {error}"
    except Exception as error:
        return f"{type(error).__name__}: {error}"
    residual = found["energy_residual"]
    return "" if residual <= LARGEST_RESIDUAL else f"residual {residual} and status ok"


def compare_fell(scenario: Scenario, out: Path) -> str:
    """Compare with two trials, observe and sweep where the file asks for it."""
    from edgewear.study.compare import compare
    from edgewear.study.correction.site_correction import observe
    from edgewear.study.sweeping.prepared import rows_of
    from edgewear.study.sweeping.sweep import sweep

    path = out / "scenario.yaml"
    out.mkdir()
    path.write_text(scenario.source, "utf-8")
    tried: list[Callable[[], object]] = []
    if scenario.target is not None:
        tried.append(lambda: _residuals(out / "c", compare(path, 2, 0, 1, out / "c")))
    if scenario.target is not None and scenario.observed:
        tried.append(lambda: observe(path, 32, 0, 1, out / "o"))
    if scenario.study is not None and rows_of(scenario.study) <= MOST_ROWS:
        tried.append(lambda: sweep(path, out=out / "s", workers=1))
    for attempt in tried:
        try:
            attempt()
        except EdgewearError as error:
            if not str(error):
                return "no reason"
        except Exception as error:
            return f"{type(error).__name__}: {error}"
    return ""


def _residuals(folder: Path, _: object) -> None:
    """Hold every row of a comparison that counts as computed to its energy."""
    from edgewear.dataset.reading import open_dataset
    from edgewear.dataset.schema import arrays_of
    from edgewear.terms import FAILED

    runs = arrays_of(open_dataset(folder).runs(("status", "energy_residual")))
    computed = runs["status"] != FAILED
    assert np.all(runs["energy_residual"][computed] <= LARGEST_RESIDUAL)
