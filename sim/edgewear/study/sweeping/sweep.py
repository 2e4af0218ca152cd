"""A study of many runs to parquet: declared once, resumable by the same command."""

from __future__ import annotations

import json
from collections.abc import Callable
from concurrent.futures import Executor
from contextlib import nullcontext, suppress
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from edgewear.dataset import manifest as manifests
from edgewear.dataset.manifest import Manifest
from edgewear.errors import EdgewearError, UsageError
from edgewear.findings.plain import plain
from edgewear.study.compare import available_workers, load_for_rows, write_nominal
from edgewear.study.plan import chunks_of
from edgewear.study.progress import Told
from edgewear.study.resolved import parameters_of
from edgewear.study.runner import Study, run_study
from edgewear.study.sweeping.design import Floats, Stretch, load_points, points_of
from edgewear.study.sweeping.prepared import (
    Prepared,
    declared_in,
    prepared,
    rows_of,
)
from edgewear.study.task import Task
from edgewear.study.worker_pool import WorkerPool, cluster, inline, processes
from edgewear.study.workers.beside import Beside
from edgewear.study.workers.devices import busy_workers, on_device, on_device_of

if TYPE_CHECKING:
    from edgewear.scenario.models.scenario import Scenario
    from edgewear.scenario.models.study import Study as Declared
    from edgewear.study.model import ScenarioModel

Drawn = Callable[[Stretch], Floats]
"""Makes points of a Sobol sequence."""

ROWS_WORTH_A_WORKER = 256
"""Rows below which a worker is started only when there is a chunk for it."""


@dataclass(frozen=True)
class SweepResult:
    """A finished sweep."""

    dataset: str
    rows: int
    failed: int
    foreign: tuple[str, ...] = ()  # files in its folders that no study wrote: left alone

    def as_json(self) -> dict[str, Any]:
        """The result as `sweep --json` prints it."""
        return {"schema": "edgewear.sweep/1", **asdict(self), "foreign": list(self.foreign)}


def sweep(
    scenario: Scenario | str | Path,
    out: str | Path,
    workers: int | None = None,
    cluster_address: str | None = None,
    progress: Told | None = None,
    executor: Executor | None = None,
    edges: bool = False,
    device: str = "cpu",
) -> SweepResult:
    """Run the study of a scenario; the same call goes on with one that was stopped.

    Parameters:
        scenario: or the path of its file; it has a `study`.
        out: folder of the dataset.
        workers: worker processes; None takes every processor. A device gets eight at most.
        cluster_address: of a dask scheduler, whose workers then do the runs.
        progress: called after each chunk.
        executor: any other executor to use instead.
        edges: whether the outcomes at every edge of every run are kept as well.
        device: `cpu`, or `cuda` for runs over one edge.

    Returns:
        How many rows there are and how many failed; the bytes of the dataset depend on the
        study alone.

    Raises:
        ScenarioError: a scenario or study that cannot be used.
        Mismatch: the folder holds another study, or one of another version.
        DatasetError: it cannot be written, or somebody else writes there.
        Interrupted: stopped on request.
    """
    root, (model, declared) = Path(out).absolute(), declared_in(scenario, edges)
    with _drawing(declared) as draw:
        model = on_device(model, device)
        wanted = busy_workers(available_workers() if workers is None else workers, device)
        gang = _gang(wanted, cluster_address, executor, model)
        manifest = _swept(root, model, declared, gang, draw, progress)
    foreign = tuple(manifests.foreign(root, manifest))
    return SweepResult(str(out), manifest.rows, manifest.failed, foreign)


def _drawing(declared: Declared) -> Beside[Stretch, Floats] | nullcontext[Drawn]:
    """Who makes the points of a Sobol sequence: what does takes as long to load as to start."""
    if declared.sample is not None and declared.sample.method == "sobol":
        return Beside(points_of, load_points)
    return nullcontext(points_of)


def _swept(
    root: Path,
    model: ScenarioModel,
    declared: Declared,
    gang: WorkerPool,
    draw: Drawn,
    progress: Told | None,
) -> Manifest:
    """Run a study with these workers, who go when it is done."""
    with gang:
        if gang.copies:  # they begin with what is loaded by now
            load_for_rows()
            with suppress(EdgewearError):  # its rows will say what is wrong
                model.warm()
        if not (root / manifests.NAME).exists():
            gang.begin(rows_of(declared) // ROWS_WORTH_A_WORKER)
        study = study_in(root, prepared(model, declared, gang, draw))
        return run_study(study, gang, progress)


def study_in(root: Path, ready: Prepared) -> Study:
    """Give a prepared sweep its folder.

    Parameters:
        root: folder of the dataset.
        ready: from `prepare`.
    """
    model, plan = ready.model, ready.plan
    rigged = {option: model.rigged(option) for option in plan.options}
    resolved = plain(model.scenario.model_dump(mode="json", exclude={"path", "source"}))
    document = {"scenario": resolved, "options": rigged, "parameters": parameters_of(resolved)}
    text = json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False)
    files = {"scenario.yaml": model.text.encode(), "scenario.json": (text + "\n").encode()}
    if model.library is not None:
        files["library.yaml"] = model.library.encode()
    about = {name: value for name, value in ready.about.items() if name not in manifests.UNSAID}
    decides = {"scenario": manifests.deciding(resolved), "about": about}
    identity = manifests.identity("sweep", {"study": json.dumps(decides)})
    task = Task(str(root), identity, model, edges=model.edges, chunk_rows=plan.chunk_rows)
    nominal = ready.nominal
    return Study(
        root,
        "sweep",
        plan,
        task,
        files,
        ready.about,
        lambda: write_nominal(root, nominal),
        resolved,
    )


@dataclass(frozen=True)
class Estimate:
    """What a sweep would take here."""

    rows: int
    chunks: int
    rows_a_chunk: int  # the last chunk may have fewer
    workers: int
    seconds: float
    bytes: int
    device: str = "cpu"
    on_device: tuple[str, ...] = ()  # options that it plays; the processor plays the others

    def as_json(self) -> dict[str, Any]:
        """The estimate as `sweep --dry-run --json` prints it."""
        return {"schema": "edgewear.dry-run/1", **asdict(self), "on_device": [*self.on_device]}


def dry_run(
    scenario: Scenario | str | Path,
    workers: int | None = None,
    edges: bool = False,
    device: str = "cpu",
) -> Estimate:
    """Say how many rows and chunks a study has, and measure what it would take.

    A few rows spread over the plan are played in this process, of a device a whole chunk; nothing
    is written.

    Parameters:
        scenario: or the path of its file.
        workers: worker processes; None takes every processor. A device gets eight at most.
        edges, device: as for `sweep`.

    Raises:
        ScenarioError: a scenario or study that cannot be used.
        UsageError: what `sweep` would refuse.
    """
    from edgewear.study.sweeping.estimate import measured, seconds_of

    _at_least_one(workers)
    model, declared = declared_in(scenario, edges)
    model = on_device(model, device)
    width = busy_workers(available_workers() if workers is None else workers, device)
    ready = prepared(model, declared, inline())
    plan = ready.plan
    found = measured(ready.model, plan)
    return Estimate(
        rows=plan.rows,
        chunks=chunks_of(plan),
        rows_a_chunk=min(plan.chunk_rows, plan.rows),
        workers=width,
        seconds=seconds_of(plan, found.row_s, width),
        bytes=round(plan.rows * found.row_bytes),
        device=device,
        on_device=on_device_of(ready.model, plan.options),
    )


def _gang(
    workers: int,
    address: str | None,
    executor: Executor | None,
    model: ScenarioModel,
) -> WorkerPool:
    if executor is not None:
        return WorkerPool(lambda: executor, 4)
    if address is not None:
        return cluster(address)
    copies = model.device == "cpu"  # what drives a device is in no copy
    return processes(workers, model.warm, copies)


def _at_least_one(workers: int | None) -> int | None:
    if workers is not None and workers < 1:
        raise UsageError(f"workers: {workers}; at least 1 is allowed")
    return workers


def verify(folder: str | Path) -> list[str]:
    """List every file of a dataset that is gone, changed, or does not belong there.

    Returns:
        One sentence a file; empty when every file is what was written.

    Raises:
        DatasetError: no dataset there, or its manifest is damaged.
        Unfinished: the study was stopped half way and nothing is wrong with the rest.
    """
    root = Path(folder)
    manifest = manifests.read(root)
    found = manifests.damage(root, manifest) if manifest.finished else []
    if not found:
        manifests.require_finished(root, manifest)
    return found
