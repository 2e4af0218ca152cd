"""One run of a dataset again, compared with the row that was written."""

from __future__ import annotations

from dataclasses import dataclass
from math import isnan
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from edgewear import records
from edgewear.dataset import manifest as manifests
from edgewear.dataset.files import write_table
from edgewear.dataset.reading import Dataset, open_dataset
from edgewear.dataset.said import as_a_study_writes
from edgewear.dataset.schema import table_of_records
from edgewear.errors import DatasetError, Mismatch, UsageError
from edgewear.findings.plain import plain
from edgewear.study.model import ScenarioModel
from edgewear.study.plan import PLAN_FILE, Block, planned_rows
from edgewear.study.task import PlayedRows, part_name, playing

CLOSE = 1e-9
"""Relative difference allowed where other versions, another processor or a device made a row."""

LEAST_SIZE = {
    "energy_residual": 1.0,
    "sheath_margin": 1.0,
    "core_loss": 1.0,
    "residual_strength_n": 1e4,
}
"""Columns that are differences of numbers nearly alike, with the size that they are taken for at
least: strength is a matter of kilonewtons, and where the core ends it falls as a root."""


@dataclass(frozen=True)
class Replay:
    """A run as it was, and as it is now."""

    run: int
    option: str
    inputs: dict[str, Any]  # levers and uncertainties of the row
    exact: bool  # every bit was to be the same; else to 1e-9
    same: bool
    differences: tuple[str, ...]
    outcome: dict[str, Any]
    traces: tuple[str, ...]  # files written

    def as_json(self) -> dict[str, Any]:
        """The comparison as `replay --json` prints it."""
        lists = {"differences": list(self.differences), "traces": list(self.traces)}
        return {"schema": "edgewear.replay/1", **vars(self), **lists}


def replay(
    folder: str | Path,
    run: int,
    traces: str | Path | None = None,
    rate_hz: float | None = None,
) -> Replay:
    """Play one run of a dataset again and compare it with what was written.

    Bits are compared where versions and processor are those of the dataset; elsewhere, and where a
    device made it, numbers may differ by 1e-9 of their size, and the result says so. Here the
    processor plays the run.

    Parameters:
        folder: of a finished dataset.
        run: row number in the plan.
        traces: folder for what happened, the demand along the rope and the course over time.
        rate_hz: samples of the course a second; None: 10 a second, a long course thinned.

    Raises:
        DatasetError: no dataset there, or a damaged one; the folder for traces cannot be written.
        UsageError: no such row.
        RunFailed: traces of a run that cannot be computed.
        Mismatch: another model of edgewear made it.
    """
    dataset, run = open_dataset(folder), int(run)  # which may come from a table
    manifest = dataset.manifest
    if not 0 <= run < manifest.rows:
        raise UsageError(f"run {run}: the plan has rows 0 to {manifest.rows - 1}")
    if manifest.model != records.MODEL:
        raise Mismatch(f"{folder}: made with model {manifest.model}, here is {records.MODEL}")
    row = _planned(dataset, run)
    written = _written(dataset, run, int(row["chunk"][0]))
    model = model_of(dataset)
    now = playing(model, row)
    files = [] if traces is None else write_traces(Path(traces), model, row, rate_hz)
    exact = dict(manifest.versions) == manifests.versions() and "device" not in manifest.about
    found = tuple(_differences(written, now, 0.0 if exact else CLOSE))
    known = {column.name for column in records.PLAN}
    return Replay(
        run=run,
        option=str(row["option"][0]),
        inputs={name: plain(column[0]) for name, column in row.items() if name not in known},
        exact=exact,
        same=not found,
        differences=found,
        outcome={name: plain(now.runs[name][0]) for name in now.runs.dtype.names or ()},
        traces=tuple(map(str, files)),
    )


def write_traces(
    folder: Path, model: ScenarioModel, row: Block, rate_hz: float | None = None
) -> list[Path]:
    """Play a row with everything written down, and write it: one file a table.

    Parameters:
        folder: made if it is not there.
        model: of the dataset.
        row: one row of its plan.
        rate_hz: samples of the course a second; None: 10 a second, a long course thinned.

    Raises:
        RunFailed: a run that cannot be computed.
        DatasetError: nowhere to write to.
    """
    run, written = int(row["run"][0]), []
    for name, table in model.traced(row, rate_hz).items():
        metadata = {"run": str(run), "option": str(row["option"][0])}
        path = f"{name}-{run}.parquet"
        write_table(folder, path, table_of_records(records.TABLES[name], table, metadata))
        written.append(folder / path)
    return written


def model_of(dataset: Dataset) -> ScenarioModel:
    """Make the model that played a dataset, from the dataset alone."""
    with as_a_study_writes(dataset.root):
        return _model_of(dataset)


def _model_of(dataset: Dataset) -> ScenarioModel:
    about = dataset.manifest.about
    library = dataset.root / "library.yaml"
    return ScenarioModel(
        text=dataset.scenario_text,
        path=str(about["file"]),
        seed=int(about["seed"]),
        travel=int(about.get("travel", 0)),
        edges=dataset.manifest.kind == "compare" or bool(about.get("edges")),
        structural=tuple(about.get("structural", ())),
        sets=tuple((a, o, tuple(names)) for a, o, names in about.get("sets", ())),
        library=library.read_text("utf-8") if library.is_file() else None,
    )


def _planned(dataset: Dataset, run: int) -> Block:
    dataset.check(PLAN_FILE)
    chunk_rows = dataset.manifest.chunk_rows
    rows = planned_rows(dataset.root, run // chunk_rows, chunk_rows)
    place = run % chunk_rows
    if rows["run"].size <= place:
        raise DatasetError(f"{dataset.root / PLAN_FILE}: row {run} is not where it is due")
    return {name: column[place : place + 1] for name, column in rows.items()}


def _written(dataset: Dataset, run: int, chunk: int) -> PlayedRows:
    tables = []
    for name, columns in (("runs", records.RUN), ("edges", records.EDGE)):
        part = part_name(name, chunk)
        empty = np.zeros(0, records.numpy_dtype(columns))
        tables.append(_rows(dataset, part, columns, run) if dataset.has(part) else empty)
    return PlayedRows(*tables)


def _rows(
    dataset: Dataset, part: str, columns: tuple[records.Column, ...], run: int
) -> NDArray[np.void]:
    table = dataset.part(part)
    mine = np.flatnonzero(table.column("run").to_numpy() == run)
    table = table.take(mine)
    found = np.zeros(table.num_rows, records.numpy_dtype(columns))
    for column in columns:
        found[column.name] = table.column(column.name).to_numpy()
    return found


def _differences(written: PlayedRows, now: PlayedRows, tolerance: float) -> list[str]:
    found = _compared("", written.runs, now.runs, tolerance)
    if written.edges.size:
        found += _compared("edges: ", written.edges, now.edges, tolerance)
    return found


def _compared(
    where: str, written: NDArray[np.void], now: NDArray[np.void], tolerance: float
) -> list[str]:
    if written.shape != now.shape:
        return [f"{where}{len(written)} rows were written, now there are {len(now)}"]
    found = []
    for name in written.dtype.names or ():
        if name in records.LATER and _unknown(written[name], records.LATER[name]):
            continue  # a dataset of before has not kept it
        for was, becomes in zip(written[name].tolist(), now[name].tolist(), strict=True):
            if not _equal(was, becomes, tolerance, LEAST_SIZE.get(name, 0.0)):
                found.append(f"{where}{name}: {was!r} was written, now {becomes!r}")
    return found


def _unknown(values: NDArray[Any], instead: float) -> bool:
    return np.array_equal(values, np.full(values.shape, instead), equal_nan=True)


def _equal(was: object, becomes: object, tolerance: float, least_size: float) -> bool:
    if not (isinstance(was, float) and isinstance(becomes, float)):
        return bool(was == becomes)
    if isnan(was) or isnan(becomes):
        return isnan(was) and isnan(becomes)
    return bool(abs(was - becomes) <= tolerance * max(abs(was), abs(becomes), least_size))
