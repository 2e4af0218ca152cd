"""A study of many runs to parquet: declared once, resumable by the same command."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from concurrent.futures import Executor
from dataclasses import asdict, dataclass, replace
from math import prod
from pathlib import Path
from typing import TYPE_CHECKING, Any

from edgewear.dataset import manifest as manifests
from edgewear.dataset.files import sha256_of
from edgewear.engine.draws import check_seed
from edgewear.errors import Problem, ScenarioError, UsageError
from edgewear.findings.plain import plain
from edgewear.study.compare import available_workers, drawn, write_nominal
from edgewear.study.compared import NominalCourse
from edgewear.study.model import ScenarioModel
from edgewear.study.plan import chunks_of
from edgewear.study.progress import Told
from edgewear.study.resolved import parameters_of
from edgewear.study.runner import Study, run_study
from edgewear.study.sweeping.design import design_of
from edgewear.study.sweeping.levers import Lever, lever_of
from edgewear.study.sweeping.sweep_plan import Axis, SweepPlan, Table, kept_points
from edgewear.study.sweeping.table_file import table_of_file
from edgewear.study.task import Task
from edgewear.study.worker_pool import WorkerPool, cluster, inline, processes

if TYPE_CHECKING:
    from edgewear.case import Uncertainty
    from edgewear.scenario.models.scenario import Scenario
    from edgewear.scenario.models.study import Study as Declared

OPTIONS = "options"

ROWS_WORTH_A_WORKER = 256
"""Rows below which a worker is started only when there is a chunk for it."""


@dataclass(frozen=True)
class SweepResult:
    """A finished sweep."""

    dataset: str
    rows: int
    failed: int

    def as_json(self) -> dict[str, Any]:
        """The result as `sweep --json` prints it."""
        return {"schema": "edgewear.sweep/1", **asdict(self)}


@dataclass(frozen=True)
class Prepared:
    """A sweep that could start."""

    model: ScenarioModel
    plan: SweepPlan
    nominal: Mapping[str, NominalCourse]
    about: Mapping[str, Any]


def sweep(
    scenario: Scenario | str | Path,
    out: str | Path,
    workers: int | None = None,
    cluster_address: str | None = None,
    progress: Told | None = None,
    executor: Executor | None = None,
) -> SweepResult:
    """Run the study of a scenario; the same call goes on with one that was stopped.

    Parameters:
        scenario: or the path of its file; it has a `study`.
        out: folder of the dataset.
        workers: worker processes; None takes every processor.
        cluster_address: of a dask scheduler, whose workers then do the runs.
        progress: called after each chunk.
        executor: any other executor to use instead.

    Returns:
        How many rows there are and how many failed; the bytes of the dataset depend on the
        study alone.

    Raises:
        ScenarioError: a scenario or study that cannot be used.
        Mismatch: the folder holds another study, or one of another version.
        DatasetError: it cannot be written, or somebody else writes there.
        Interrupted: stopped on request.
    """
    root, (model, declared) = Path(out).absolute(), _declared(scenario)
    with _gang(workers, cluster_address, executor, model.warm) as gang:
        if not (root / manifests.NAME).exists():
            gang.begin(_rows(declared) // ROWS_WORTH_A_WORKER)
        manifest = run_study(study_in(root, _prepared(model, declared, gang)), gang, progress)
    return SweepResult(str(out), manifest.rows, manifest.failed)


def prepare(scenario: Scenario | str | Path) -> Prepared:
    """Lay a study's plan out, without writing anything.

    Raises:
        ScenarioError: a scenario or study that cannot be used.
    """
    return _prepared(*_declared(scenario), inline())


def _declared(scenario: Scenario | str | Path) -> tuple[ScenarioModel, Declared]:
    """The scenario as a model, and the study in it."""
    model = ScenarioModel.of(scenario, 0)
    declared = model.scenario.study
    if declared is None:
        message = "missing; a sweep needs one (grid, sample, table or replicates)"
        raise ScenarioError([Problem(model.path, 1, 1, "study", message)])
    check_seed(declared.seed)
    return replace(model, seed=declared.seed), declared


def _rows(declared: Declared) -> int:
    """Rows a study has at most, a table's not counted."""
    points = prod(len(values) for values in declared.grid.values())
    return points * (declared.sample.rows if declared.sample else 1) * declared.replicates


def _prepared(model: ScenarioModel, declared: Declared, gang: WorkerPool) -> Prepared:
    options = declared.grid.get(OPTIONS, model.options)
    table = _table(model, declared, options)
    typed = _typed_axes(declared, options, table)
    axes = _axes(model, typed, options)
    levers = [axis.lever for axis in axes if axis.lever is not None]
    levers += table.levers if table is not None else ()
    model = replace(model, structural=_structural(levers), sets=_sets(levers))
    nominals = gang.later(model.nominal, options)
    sampled = {option: _sampled(model, declared, option) for option in options}
    names = tuple(dict.fromkeys(one.name for known in sampled.values() for one in known))
    sample = declared.sample
    design = design_of(sample.method, names, sample.rows, declared.seed) if sample else None
    kept = kept_points(typed, declared.skip)
    nominal = dict(zip(options, nominals(), strict=True))
    plan = SweepPlan(
        options=tuple(options),
        axes=tuple(axes),
        kept=kept,
        table=table,
        design=design,
        sample_rows=sample.rows if sample else 1,
        sampled=sampled,
        replicates=declared.replicates,
        steps_a_row=sum(one.steps for one in nominal.values()) / len(nominal),
    )
    return Prepared(model, plan, nominal, _about(model, declared))


def study_in(root: Path, prepared: Prepared) -> Study:
    """Give a prepared sweep its folder.

    Parameters:
        root: folder of the dataset.
        prepared: from `prepare`.
    """
    model, plan = prepared.model, prepared.plan
    rigged = {option: model.rigged(option) for option in plan.options}
    resolved = plain(model.scenario.model_dump(mode="json", exclude={"path", "source"}))
    document = {"scenario": resolved, "options": rigged, "parameters": parameters_of(resolved)}
    text = json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False)
    files = {"scenario.yaml": model.text.encode(), "scenario.json": (text + "\n").encode()}
    if model.library is not None:
        files["library.yaml"] = model.library.encode()
    identity = manifests.identity("sweep", {**files, "about": json.dumps(prepared.about)})
    task = Task(str(root), identity, model, edges=False, chunk_rows=plan.chunk_rows)
    nominal = prepared.nominal
    return Study(
        root, "sweep", plan, task, files, prepared.about, lambda: write_nominal(root, nominal)
    )


@dataclass(frozen=True)
class Estimate:
    """What a sweep would take here."""

    rows: int
    chunks: int
    rows_a_chunk: int
    workers: int
    seconds: float
    bytes: int

    def as_json(self) -> dict[str, Any]:
        """The estimate as `sweep --dry-run --json` prints it."""
        return {"schema": "edgewear.dry-run/1", **asdict(self)}


def dry_run(scenario: Scenario | str | Path, workers: int | None = None) -> Estimate:
    """Say how many rows and chunks a study has, and measure what it would take.

    A few rows spread over the plan are played in this process; nothing is written.

    Parameters:
        scenario: or the path of its file.
        workers: worker processes; None takes every processor.
    """
    from edgewear.study.sweeping.estimate import measured, seconds_of

    prepared = prepare(scenario)
    plan, width = prepared.plan, workers or available_workers()
    found = measured(prepared.model, plan)
    return Estimate(
        rows=plan.rows,
        chunks=chunks_of(plan),
        rows_a_chunk=plan.chunk_rows,
        workers=width,
        seconds=seconds_of(plan, found.row_s, width),
        bytes=round(plan.rows * found.row_bytes),
    )


def _gang(
    workers: int | None,
    address: str | None,
    executor: Executor | None,
    ready: Callable[[], object],
) -> WorkerPool:
    if executor is not None:
        return WorkerPool(lambda: executor, 4)
    if address is not None:
        return cluster(address)
    if workers is not None and workers < 1:
        raise UsageError(f"workers: {workers}; at least 1 is allowed")
    return processes(workers or available_workers(), ready)


def _axes(
    model: ScenarioModel, typed: list[tuple[str, tuple[str, ...]]], options: tuple[str, ...]
) -> list[Axis]:
    axes = []
    for address, values in typed:
        lever = None if address == OPTIONS else lever_of(model, options, address, values)
        axes.append(Axis(lever, len(values)))
    return axes


def _typed_axes(
    declared: Declared, options: tuple[str, ...], table: Table | None
) -> list[tuple[str, tuple[str, ...]]]:
    """Address and values of every axis; the options are outermost unless the grid says else."""
    grid = dict(declared.grid)
    if table is not None and table.options is not None:
        if OPTIONS in grid:
            message = "both the grid and the table choose the options: keep it in one of them"
            raise ScenarioError([Problem("", 0, 0, "study/grid/options", message)])
        return list(grid.items())
    return list(({OPTIONS: tuple(options), **grid} if OPTIONS not in grid else grid).items())


def _table(model: ScenarioModel, declared: Declared, options: tuple[str, ...]) -> Table | None:
    if declared.table is None:
        return None
    return table_of_file(_beside(model, declared.table), model, options)


def _beside(model: ScenarioModel, name: str) -> Path:
    return Path(model.path).parent / name


def _structural(levers: list[Lever]) -> tuple[str, ...]:
    return tuple(lever.address for lever in levers if lever.structural)


def _sets(levers: list[Lever]) -> tuple[tuple[str, str, tuple[str, ...]], ...]:
    return tuple(
        (lever.address, option, names)
        for lever in levers
        if not lever.structural
        for option, names in lever.sets.items()
    )


def _sampled(model: ScenarioModel, declared: Declared, option: str) -> tuple[Uncertainty, ...]:
    """What the sample varies in an option: its groups and addresses, less what a lever sets."""
    if declared.sample is None:
        return ()
    set_by_lever = {name for _, o, names in model.sets if o == option for name in names}
    wanted = set(declared.sample.over)
    addressed = {name for pattern in wanted for name in _names_at(model, option, pattern)}
    return tuple(
        one
        for one in drawn(model.uncertainties(option))
        if (one.group in wanted or one.name in addressed) and one.name not in set_by_lever
    )


def _names_at(model: ScenarioModel, option: str, pattern: str) -> set[str]:
    """Names of the numbers that an address stands for."""
    known = {one.name for one in model.uncertainties(option)}
    if "/" not in pattern:
        return set()
    return known & {pattern, *model.scenario.resolve_addresses(pattern)}


def _about(model: ScenarioModel, declared: Declared) -> dict[str, Any]:
    about = {
        "file": Path(model.path).name,
        "title": model.scenario.title,
        "setting": model.scenario.setting,
        "seed": declared.seed,
        "replicates": declared.replicates,
        "study": plain(declared.model_dump(mode="json")),
        "scenario": manifests.identity("text", {"scenario.yaml": model.text}),
        "structural": list(model.structural),
        "sets": plain(model.sets),
        "travel": model.travel,
    }
    if declared.table is not None:
        about["table_sha256"] = sha256_of(_beside(model, declared.table))
    return about


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
