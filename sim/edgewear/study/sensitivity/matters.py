"""What matters in a dataset or a scenario: which inputs decide how much sheath is left."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from edgewear.dataset.reading import Dataset, open_dataset
from edgewear.dataset.said import as_a_study_writes
from edgewear.engine.draws import check_seed
from edgewear.errors import UsageError
from edgewear.findings.inquiries.what_matters import (
    CHOSEN,
    ITSELF,
    SITE,
    TEST,
    Influence,
    LeftOut,
    OptionInfluences,
    WhatMatters,
)
from edgewear.records import PLAN
from edgewear.study.compare import drawn
from edgewear.study.model import ScenarioModel
from edgewear.study.plan import values_of
from edgewear.study.sensitivity.designed import designed
from edgewear.study.sensitivity.given import Indices, due, indices, mean_ranks
from edgewear.study.task import ENDS, of_a_part, playing, refuse_parts
from edgewear.terms import OK

if TYPE_CHECKING:
    import pyarrow as pa

    from edgewear.case import Uncertainty
    from edgewear.scenario.models.scenario import Scenario

Floats = NDArray[np.float64]

OUTCOME = "sheath_margin"
"""Sheath left [1]. What is below zero counts as zero: the core shows, whatever more is asked."""
STROKES = "strokes"
"""The input that stands for how single strokes vary."""

TOGETHER = 0.3
"""Inputs with a rank correlation above this are said to go together."""

LITTLE = 0.02
"""A share below this is not worth a sentence."""

PICTURED = 2
POINTS = 400
"""Inputs drawn, and rows kept for a picture."""

_ON_SITE = {"anchors", "people", "techniques", "systems", "job", "below", "lines"}
_OF_AN_EDGE = {"out", "up", "along", "radius", "from", "to"}
_OF_A_LINE = {"after", "bend", "out", "up", "along", "slack", "sit back", "start"}


def what_matters(
    folder: str | Path, outcome: str = OUTCOME, options: Sequence[str] = ()
) -> WhatMatters:
    """Say which inputs decide an outcome, from the rows of a finished dataset.

    Parameters:
        folder: of the dataset; outcome: column of its runs.
        options: names; all of them if left out.

    Raises:
        DatasetError: it cannot be read.
        UsageError: no such column or option, or too few rows for any option.
    """
    with as_a_study_writes(folder):
        return _what_matters(folder, outcome, options)


def _what_matters(folder: str | Path, outcome: str, options: Sequence[str]) -> WhatMatters:
    dataset = open_dataset(folder)
    table = dataset.plan()
    values = {name: table.column(name).to_numpy() for name in table.column_names}
    there = list(dict.fromkeys(values["option"].tolist()))
    if unknown := [name for name in options if name not in there]:
        raise UsageError(f"no option is called {unknown[0]!r}; there are {', '.join(there)}")
    y = _outcome(dataset, outcome)
    each = [_given(option, values, table.schema, y) for option in options or there]
    found = tuple(one for one in each if isinstance(one, OptionInfluences))
    left_out = tuple(one for one in each if isinstance(one, LeftOut))
    if not found:
        told = "; ".join(one.words for one in left_out)
        raise UsageError(f"{folder}: it cannot be said which inputs decide. {told}")
    title = str(dataset.manifest.about.get("title", Path(folder).name))
    return WhatMatters(title, outcome, "the rows of a dataset", found, left_out)


def what_would_matter(
    scenario: Scenario, options: Sequence[str] = (), base: int = 64, seed: int = 0
) -> WhatMatters:
    """Say which inputs decide the sheath left, by a design of its own.

    Parameters:
        scenario: the scenario.
        options: names; all of them if left out.
        base: size of the design, a power of 2; base*(inputs + 2) runs an option are made.
        seed: of the design.

    Raises:
        UsageError: no option of that name, or a size that is no power of 2.
        RunFailed: a run of the design could not be computed.
    """
    check_seed(seed)
    model = ScenarioModel.of(scenario, seed)
    unknown = [name for name in options if name not in scenario.options]
    if unknown:
        raise UsageError(f"no option is called {unknown[0]!r}")
    found = [_designed(model, name, base, seed) for name in options or tuple(scenario.options)]
    return WhatMatters(scenario.title, OUTCOME, "a design of its own", tuple(found))


def group_of(address: str, kind: str) -> str:
    """Say what could make an input better known.

    Parameters:
        address: of the input; kind: "epistemic", "aleatory" or "" for a lever.
    """
    if not kind:
        return CHOSEN
    if kind == "aleatory" or address == STROKES:
        return ITSELF
    parts = address.split("/")
    if parts[0] in _ON_SITE:
        return SITE
    if parts[0] == "edges":
        return SITE if parts[-1] in _OF_AN_EDGE else TEST
    return SITE if parts[0] == "options" and parts[-1] in _OF_A_LINE else TEST


def _outcome(dataset: Dataset, outcome: str) -> Floats:
    """Read an outcome by run, NaN where a row failed, or came to a part of the plan."""
    runs = dataset.runs()
    if outcome not in runs.column_names:
        raise UsageError(f"{outcome}: no column of the runs; such as {OUTCOME}, peak_tension_n")
    column = runs.column(outcome).to_numpy()
    if column.dtype != np.float64:
        raise UsageError(f"{outcome}: no number, so nothing can be said of its spread")
    part = of_a_part(*(runs.column(name).to_numpy() for name in ENDS))
    ok = (runs.column("status").to_numpy() == OK) & ~part
    found = np.full(int(runs.column("run").to_numpy().max()) + 1, np.nan)
    found[runs.column("run").to_numpy()[ok]] = _counted(column[ok], outcome)
    return found


def _counted(values: Floats, outcome: str) -> Floats:
    return np.maximum(values, 0.0) if outcome == OUTCOME else values


def _given(
    option: str, values: Mapping[str, NDArray[np.generic]], schema: pa.Schema, outcome: Floats
) -> OptionInfluences | LeftOut:
    mine = values["option"] == option
    y = outcome[values["run"][mine].astype(np.int64)]
    kept = np.isfinite(y)
    fixed = {column.name for column in PLAN}
    inputs = {
        name: column[mine][kept].astype(np.float64)
        for name, column in values.items()
        if name not in fixed and column.dtype == np.float64
    }
    varying = {n: c for n, c in inputs.items() if np.isfinite(c).all() and np.ptp(c) > 0.0}
    kinds = [_kind(schema.field(name)) for name in varying]
    random = [column for column, kind in zip(varying.values(), kinds, strict=True) if kind]
    drawn = _draws(random)
    draws = None if drawn is None else int(drawn.max()) + 1
    rows, (rows_due, draws_due) = int(kept.sum()), due(len(varying), len(random))
    if not varying or rows < rows_due or (draws is not None and draws < draws_due):
        return LeftOut(option, len(varying), rows, rows_due, draws, draws_due)
    found = indices(np.stack([*varying.values()]), y[kept], drawn)
    ranks, of_outcome = {n: mean_ranks(c) for n, c in varying.items()}, mean_ranks(y[kept])
    alike = [rows if draws is None or not kind else draws for kind in kinds]
    worse = [
        _worse(ranks[name], of_outcome, count) for name, count in zip(varying, alike, strict=True)
    ]
    told = _told(option, varying, kinds, y[kept], found, worse)
    return replace(told, inputs=tuple(_along(told.inputs, ranks)))


def _draws(columns: Sequence[Floats]) -> NDArray[np.int64] | None:
    """Number the draws of all rows as they first come; None: each row has one of its own."""
    if not columns:
        return None
    _, first, which = np.unique(np.stack(columns), axis=1, return_index=True, return_inverse=True)
    if first.size == which.size:
        return None
    numbered = np.empty(first.size, np.int64)
    numbered[np.argsort(first)] = np.arange(first.size)
    return numbered[which.ravel()]


def _kind(field: pa.Field) -> str:
    metadata: dict[bytes, bytes] = field.metadata or {}
    return metadata.get(b"kind", b"").decode()


def _told(
    option: str,
    inputs: Mapping[str, Floats],
    kinds: Sequence[str],
    y: Floats,
    found: Indices,
    worse: Sequence[str],
) -> OptionInfluences:
    """Put shares, and which way lowers the outcome, beside inputs, the most important first."""
    each = zip(inputs, kinds, found.alone, found.total, worse, strict=True)
    told = [
        Influence(name, group_of(name, kind), alone, total, way)
        for name, kind, alone, total, way in each
    ]
    told.sort(key=lambda one: (-one.alone.value, -one.total.value, one.address))
    step = max(y.size // POINTS, 1)
    samples = tuple(
        (one.address, tuple(inputs[one.address][::step].tolist()), tuple(y[::step].tolist()))
        for one in told[:PICTURED]
    )
    low, high = np.quantile(y, (0.05, 0.95))
    spread = float(low), float(high)
    return OptionInfluences(option, y.size, spread, tuple(told), found.unexplained, samples)


def _along(told: Sequence[Influence], ranks: Mapping[str, Floats]) -> list[Influence]:
    """Name, for each input, a more important one that it is correlated with."""
    found = []
    for at, one in enumerate(told):
        others = [o.address for o in told[:at] if o.alone.value > LITTLE]
        near = [o for o in others if abs(_correlation(ranks[one.address], ranks[o])) > TOGETHER]
        found.append(replace(one, along_with=near[0] if near else ""))
    return found


def _correlation(one: Floats, other: Floats) -> float:
    """Rank correlation, by the mean ranks of both [1]."""
    ranks = np.stack((one, other))
    ranked = ranks - ranks.mean(axis=1, keepdims=True)
    return float(ranked[0] @ ranked[1] / np.sqrt((ranked**2).sum(axis=1).prod()))


def _worse(ranks: Floats, of_outcome: Floats, independent: int) -> str:
    """Which way lowers the outcome, by the rank correlation; "" where that tells nothing.

    Parameters:
        ranks, of_outcome: (n,) of the input and of the outcome.
        independent: rows that tell something of their own; a draw that is played at every point of
            a grid is one.
    """
    if np.ptp(of_outcome) == 0.0:
        return ""
    correlation = _correlation(ranks, of_outcome)
    if abs(correlation) < 2.0 / np.sqrt(independent):
        return ""
    return "more" if correlation < 0.0 else "less"


_WORSE = {1.0: "less", -1.0: "more", 0.0: ""}
"""Which way an outcome goes with an input -> which way of that lowers it."""


def _designed(model: ScenarioModel, option: str, base: int, seed: int) -> OptionInfluences:
    known = drawn(model.uncertainties(option))
    common = sorted({name for one in known for name, _ in one.leans} - {o.name for o in known})
    names = [*(one.name for one in known), *common, STROKES]
    kept: list[tuple[Floats, Floats]] = []

    def function(shares: Floats) -> Floats:
        y = _played(model, option, known, dict(zip(names, shares, strict=True)))
        kept.append((shares, y))
        return y

    found = designed(function, len(names), base, seed)
    shares = np.hstack([one for one, _ in kept])
    y = np.hstack([one for _, one in kept])
    by_name = dict(zip(names, shares, strict=True))
    values = {**by_name, **{one.name: _value(one, by_name) for one in known}}
    kinds = [*(one.kind for one in known), *("epistemic" for _ in common), "aleatory"]
    worse = [_WORSE[way] for way in found.ways]
    return _told(option, values, kinds, y, found.indices, worse)


def _played(
    model: ScenarioModel, option: str, known: Sequence[Uncertainty], shares: Mapping[str, Floats]
) -> Floats:
    """Sheath left of the runs that shares of the inputs' distributions stand for, (n,) [1].

    Raises:
        RunFailed: one could not be computed, or is of a part; an index with gaps would be none.
    """
    count = shares[STROKES].size
    rows = {
        "run": np.arange(count, dtype=np.int64),
        "option": np.array([option] * count, dtype=object),
        "replicate": (shares[STROKES] * 2.0**40).astype(np.int64),
        **{one.name: _value(one, shares) for one in known},
    }
    runs = playing(model, rows).runs
    refuse_parts(option, runs)
    return _counted(runs[OUTCOME].astype(np.float64), OUTCOME)


def _value(one: Uncertainty, shares: Mapping[str, Floats]) -> Floats:
    """Values of an uncertainty: its own share, and those of the names it leans on."""
    from scipy.special import ndtr, ndtri

    own = np.clip(shares[one.name], 2.0**-53, 1.0 - 2.0**-53)
    if not one.leans:
        return values_of(one, own)
    z = np.sqrt(1.0 - sum(loading**2 for _, loading in one.leans)) * ndtri(own)
    for name, loading in one.leans:
        z = z + loading * ndtri(np.clip(shares[name], 2.0**-53, 1.0 - 2.0**-53))
    return values_of(one, np.clip(ndtr(z), 2.0**-54, 1.0 - 2.0**-53))
