"""Rows of a table, and the same values typed into the scenario's file and run."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from itertools import combinations
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

from edgewear import records
from edgewear.errors import EdgewearError
from edgewear.scenario import all_quantities, load_scenario
from edgewear.study.model import ScenarioModel
from edgewear.study.sweeping.prepared import prepare
from edgewear.study.sweeping.values import places
from edgewear.study.task import playing

SHIPPED = sorted((Path(__file__).parents[2] / "scenarios").glob("*.yaml"))

PLACES = ("out", "along", "up", "sit back", "slack")
TYPED = ("start", "height", "length", "mass", "amplitude cv", "skill", "descent speed", "load")
"""Last words of quantities that are no uncertainty and yet decide what a run comes to."""


def options_of(path):
    """The options of a scenario file."""
    return list(load_scenario(path).options)


@lru_cache
def addresses(path, option):
    """Every address that a row may set in an option -> another value than the file's, in SI."""
    model = ScenarioModel.of(path, 0)
    found = {one.name: other(one) for one in model.uncertainties(option)}
    for address, measured in all_quantities(model.scenario).items():
        first, last = address.partition("/")[0], address.rpartition("/")[2]
        if first in ("job", "people", "ropes") and last in TYPED and address not in found:
            down = "/descend/" in address or "/lower" in address
            found[address] = 0.35 if last == "skill" else measured.value * (1.03 if down else 0.97)
    return found


def other(one):
    """A value inside the range of an uncertainty; a little off where it is known exactly."""
    if one.low < one.high:
        return one.median + 0.6 * (min(one.high, one.most) - one.median or one.low - one.median)
    if one.name.rpartition("/")[2] in PLACES:
        return one.median + 0.03
    if one.median == 0.0:
        return 0.01
    return one.median * (0.96 if one.median * 1.05 > one.most else 1.05)


def rows_of(path, option, how_many):
    """The first so many single addresses, then pairs, of an option; None: all of them."""
    every = [*((a,) for a in addresses(path, option)), *pairs_of(path, option)]
    return every if how_many is None else every[:how_many]


@lru_cache
def pairs_of(path, option):
    """Every pair of addresses but those of one place, which a study refuses."""
    model = ScenarioModel.of(path, 0)
    at = {address: places(model, address) for address in addresses(path, option)}
    return [(a, b) for a, b in combinations(at, 2) if not at[a] & at[b]]


MOST_TOGETHER = 40
"""Rows that are made at once."""


def together(path, option, left, share, chance):
    """Rows of many addresses each, so that every pair that is left is in one of them.

    Parameters: `share`: of all addresses in a row; never fewer than two.
    """
    known, fit = list(addresses(path, option)), set(pairs_of(path, option))
    todo, rows = set(left), []
    while todo and len(rows) < MOST_TOGETHER:
        picked = list(min(todo, key=lambda pair: chance.random()))
        for one in chance.sample(known, len(known)):
            if len(picked) >= max(2, share * len(known)):
                break
            if one not in picked and all({(one, p), (p, one)} & fit for p in picked):
                picked.append(one)
        rows.append(tuple(a for a in known if a in picked))
        todo -= set(combinations(rows[-1], 2))
    return rows


def as_table(path, option, rows, folder):
    """Play rows as a table of a study; RUN (n,)."""
    values, known = addresses(path, option), sorted({a for row in rows for a in row})
    scenario = load_scenario(path)
    typed = all_quantities(scenario)
    units = {one.name: one.unit for one in ScenarioModel.of(path, 0).uncertainties(option)}
    columns = {a: [values[a] if a in row else None for row in rows] for a in known}
    fields = [pa.field("option", pa.string()), pa.field("replicate", pa.int64())]
    for a in known:
        unit = units.get(a) or typed[a].unit
        fields.append(pa.field(a, pa.float64(), metadata={"unit": unit}))
    arrays = [[option] * len(rows), list(range(len(rows))), *columns.values()]
    table = pa.Table.from_arrays(
        [pa.array(c, f.type) for c, f in zip(arrays, fields, strict=True)],
        schema=pa.schema(fields),
    )
    pq.write_table(table, folder / "rows.parquet")
    file = folder / "scenario.yaml"
    text = scenario.source.partition("\nstudy:")[0]
    file.write_text(f"{text}\nstudy: {{table: rows.parquet, seed: 5}}\n")
    ready = prepare(file)
    return playing(ready.model, ready.plan.block(0, ready.plan.rows)).runs


def as_typed(path, option, row, replicate):
    """Type the values of a row into the file, and run that; RUN (1,)."""
    values = addresses(path, option)
    base = replace(ScenarioModel.of(path, 5), seed=5)
    try:
        changed = base.scenario.with_values({a: values[a] for a in row})
        model = ScenarioModel(changed.source, changed.path, 5)
        block = {"run": np.array([0]), "option": np.array([option], object),
                 "replicate": np.array([replicate])}  # fmt: skip
        return playing(model, block).runs
    except EdgewearError as error:
        failed = np.zeros(1, records.numpy_dtype(records.RUN))
        failed["status"], failed["reason"] = "failed", str(error)
        return failed


def differences(one, other, tolerance):
    """Columns in which two rows differ."""
    if one["status"] == other["status"] == "failed":
        return []
    found = []
    for column in records.RUN:
        was, now = one[column.name], other[column.name]
        if column.name in ("run", "reason"):
            continue
        if column.dtype == "float64":
            same = bool(np.isclose(was, now, rtol=tolerance, atol=tolerance, equal_nan=True))
        else:
            same = bool(was == now)
        if not same:
            found.append(f"{column.name}: {was!r} as a row, {now!r} typed")
    return found
