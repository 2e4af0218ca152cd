"""The main job: every option under the same draws, a dataset, and the ranking from it."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import replace
from functools import partial
from importlib import import_module
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from edgewear import records
from edgewear.dataset import manifest as manifests
from edgewear.dataset.files import Written, write_json, write_table
from edgewear.dataset.lock import locked
from edgewear.dataset.manifest import Manifest
from edgewear.dataset.ranking.option_trials import Sample
from edgewear.dataset.ranking.rank import in_order, ranking_of, samples_to_rank
from edgewear.dataset.reading import BRIDGES, open_dataset
from edgewear.dataset.schema import table_of_records
from edgewear.engine.draws import check_seed
from edgewear.engine.kernel_cache import load_lanes, load_step, step_to_compile
from edgewear.errors import EdgewearError, UsageError
from edgewear.findings.failure import with_doubts
from edgewear.findings.timeline import ended_early, with_ended_early
from edgewear.study.compared import Compared, Described, NominalCourse, OnDevice
from edgewear.study.model import ScenarioModel
from edgewear.study.plan import ComparePlan, span_of
from edgewear.study.progress import Told
from edgewear.study.runner import Study, run_study
from edgewear.study.task import Task
from edgewear.study.worker_pool import WorkerPool, inline, processes
from edgewear.study.workers.devices import busy_workers, on_device, on_device_of
from edgewear.terms import UNFINISHED

if TYPE_CHECKING:
    from edgewear.case import Uncertainty
    from edgewear.dataset.ranking.model import Ranking
    from edgewear.scenario.models.scenario import Scenario

REPLICATES = 256
DEFAULT_SEED = 0

CAREFUL_TRIALS = 5
"""Trials of a careful end that are played again after each change between two options."""

TRAVEL = 2_000
"""Strokes of a job whose mark travel is kept, for the percentiles on the card."""

STEPS_WORTH_A_WORKER = 4_000_000
"""Kernel steps below which worker processes cost more to start than they save, about 1.5 s."""

STEPS_AROUND_A_DEVICE = 130
"""Steps that take a processor as long as drawing, preparing and judging a trial that a device
plays: 51 us beside 0.4 us a step, of ascents over one edge."""


def compare(
    scenario: Scenario | str | Path,
    replicates: int = REPLICATES,
    seed: int = DEFAULT_SEED,
    workers: int | None = None,
    out: str | Path | None = None,
    progress: Told | None = None,
    changes: Sequence[str] = (),
    device: str = "cpu",
) -> Ranking:
    """Compare the options of a scenario under common draws.

    Parameters:
        scenario: or the path of its file.
        replicates: trials an option.
        seed: of all draws.
        workers: worker processes; None lets the size of the study decide. The bytes of the
            dataset do not depend on it.
        out: folder of the dataset; `results/<file stem>/` by default.
        progress: called after each chunk.
        changes: what was set beside the file, as typed; named in the dataset and the report.
        device: `cpu`, or `cuda` for options of one person on one line over one edge; the dataset
            and the report name which they are.

    Returns:
        The ranking, computed from the dataset that was written.

    Raises:
        ScenarioError: a scenario that cannot be used, or that has no target.
        UsageError: a number out of range, or no such device.
        DatasetError: the folder cannot be used.
    """
    model = on_device(ScenarioModel.of(scenario, seed, TRAVEL, edges=True), device)
    described = replace(model.described(), changes=tuple(changes), played=_played(model))
    root = Path(out) if out is not None else Path("results") / Path(described.file).stem
    return compare_model(model, described, root, replicates, seed, workers, progress)


def _played(model: ScenarioModel) -> OnDevice | None:
    """What a device plays, where one is asked for."""
    if model.device == "cpu":
        return None
    return OnDevice(model.device, on_device_of(model, model.options))


def compare_model(
    model: Compared,
    described: Described,
    root: Path,
    replicates: int,
    seed: int,
    workers: int | None = None,
    progress: Told | None = None,
) -> Ranking:
    """Compare the options of anything that can be played.

    Parameters:
        model: plays the options.
        described: what the scenario says of itself.
        root: folder of the dataset; another comparison there is replaced.
        replicates, seed, workers, progress: as in `compare`.
    """
    if replicates < 1:
        raise UsageError(f"replicates: {replicates}; at least 1 is allowed")
    if workers is not None and workers < 1:
        raise UsageError(f"workers: {workers}; at least 1 is allowed")
    check_seed(seed)
    options, played = tuple(model.options), described.played
    with inline() if workers is None else _gang(workers, played) as gang:
        if not gang.copies:  # else they begin with what is loaded by then
            gang.begin(len(options) * replicates)
        with _compiled_beside(workers, model):
            first = model.nominal(options[0])
        if workers is None and _steps(options, played, replicates, first) > STEPS_WORTH_A_WORKER:
            gang = _gang(available_workers(), played)
        load_for_draws()  # before workers are copied: once for all
        with gang:
            known = {option: drawn(model.uncertainties(option)) for option in options}
            others = gang.later(model.nominal, options[1:])
            gang.later(load_for_rows, range(gang.width))  # while the plan is made, they would wait
            rigged = {option: model.rigged(option) for option in options}
            load_for_rows()
            nominal = dict(zip(options, [first, *others()], strict=True))
            steps = sum(one.steps for one in nominal.values()) / len(nominal)
            on_it = played is not None and len(played.options) == len(options)
            plan = ComparePlan(known, replicates, seed, steps, on_it)
            told = {option: _told(rigged[option], nominal[option]) for option in options}
            study = _study(model, described, root, plan, nominal, told)
            manifest = run_study(study, gang, progress, stays=True)
            samples = samples_to_rank(open_dataset(root))
            if BRIDGES not in {file.path for file in manifest.files}:
                write_bridges(root, model, manifest, gang, samples)
    return ranking_of(open_dataset(root), samples)


def write_bridges(
    root: Path, model: Compared, manifest: Manifest, gang: WorkerPool, samples: Sequence[Sample]
) -> None:
    """Add the way from each option to the one before it in the order.

    Parameters:
        root: folder of a finished comparison.
        model: plays its options.
        manifest: of the comparison, replaced by one that lists the new file.
        gang: who plays, an option after one change each.
        samples: the comparison's trials.
    """
    target, seed = float(manifest.about["target"]), int(manifest.about["seed"])
    ordered = in_order(samples, target, seed)
    ranked = [one.name for one in ordered if one.group < 3 and UNFINISHED not in one.status]
    careful = {sample.name: careful_replicates(sample) for sample in samples}
    pairs = [(poorer, better) for better, poorer in pairwise(ranked)]
    found = [model.bridge(*pair, careful[pair[0]], gang.later) for pair in pairs]
    ways = [
        {"from": poorer, "to": better, "steps": [step.as_json() for step in steps()]}
        for (poorer, better), steps in zip(pairs, found, strict=True)
    ]
    with locked(root):
        written = write_json(root, BRIDGES, ways)
        manifests.write(root, manifest.closed((*manifest.files, written), manifest.failed))


def careful_replicates(sample: Sample) -> tuple[int, ...]:
    """Give the trials in the middle of an option's careful end, at most `CAREFUL_TRIALS`."""
    at = np.flatnonzero(sample.careful_trials)
    order = at[np.argsort(sample.margins[at], kind="stable")]
    first = max((order.size - CAREFUL_TRIALS) // 2, 0)
    return tuple(sorted(order[first : first + CAREFUL_TRIALS].tolist()))


def _study(
    model: Compared,
    described: Described,
    root: Path,
    plan: ComparePlan,
    nominal: Mapping[str, NominalCourse],
    options: Mapping[str, Mapping[str, Any]],
) -> Study:
    document = {
        "scenario": described.resolved,
        "options": options,
        "words": words_of(options),
        "parameters": list(described.parameters),
    }
    resolved = json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False)
    files = {"scenario.yaml": described.text, "scenario.json": (resolved + "\n").encode()}
    if described.library is not None:
        files["library.yaml"] = described.library
    about = {
        "file": described.file,
        "title": described.title,
        "setting": described.setting,
        "target": described.target,
        "seed": plan.seed,
        "replicates": plan.replicates,
        "travel": TRAVEL,
        "scenario": manifests.identity("text", {"scenario.yaml": described.text}),
        **({"changes": list(described.changes)} if described.changes else {}),
    }
    if described.played is not None:
        about["device"] = described.played.device
        about["on_device"] = list(described.played.options)
    figures: dict[str, bytes | str] = {**files}
    figures |= {"seed": str(plan.seed), "replicates": str(plan.replicates)}
    if described.played is not None:
        figures["device"] = described.played.device
    task = Task(
        str(root),
        manifests.identity("compare", figures),
        model,
        edges=True,
        chunk_rows=plan.chunk_rows,
    )
    return Study(
        root,
        "compare",
        plan,
        task,
        files,
        about,
        tables=lambda: write_nominal(root, nominal),
        resolved=described.resolved,
        replaces=True,
        takes=partial(_takes, plan, tuple(nominal.values())),
    )


def _takes(plan: ComparePlan, nominal: Sequence[NominalCourse], chunk: int) -> float:
    """Kernel steps of a run at the end of a chunk."""
    first, rows = span_of(plan, chunk)
    one = nominal[(first + rows - 1) // plan.replicates]
    return one.plays * one.steps


def _told(rigged: Mapping[str, Any], nominal: NominalCourse) -> dict[str, Any]:
    """What rigging says of an option and what its nominal run adds."""
    told = with_ended_early(with_doubts(rigged, nominal.doubts), ended_early(nominal.events))
    return {**told, "step_error": nominal.step_error}


def words_of(options: Mapping[str, Mapping[str, Any]]) -> list[Any]:
    """Gather what each word was taken to mean, once an address, over all options."""
    found: dict[str, Any] = {}
    for rigged in options.values():
        for word in rigged.get("words", ()):
            found.setdefault(word["address"], word)
    return list(found.values())


def write_nominal(root: Path, nominal: Mapping[str, NominalCourse]) -> list[Written]:
    """Write the nominal runs of all options, one file a table."""
    written = []
    tables = {"events": "events", "wear": "wear", "timeline": "timeline", "steps": "step_wear"}
    for name, field in tables.items():
        parts = [getattr(one, field) for one in nominal.values()]
        table = table_of_records(records.TABLES[name], np.concatenate(parts))
        written.append(write_table(root, f"nominal/{name}.parquet", table))
    return written


def load_for_draws() -> None:
    """Load what drawing and playing rows take; none of it comes with a thread."""
    for name in ("edgewear.engine.batch", "scipy.special"):
        import_module(name)


def load_for_rows(nothing: object = None) -> None:
    """Load what drawing, playing and writing rows take.

    Parameters:
        nothing: of no use; a task that is handed to a worker is given something.
    """
    load_for_draws()
    for name in ("pyarrow.parquet", "pyarrow.compute"):
        import_module(name)


def drawn(uncertainties: tuple[Uncertainty, ...]) -> tuple[Uncertainty, ...]:
    """Leave out what is known exactly."""
    return tuple(one for one in uncertainties if one.distribution != "fixed")


@contextmanager
def _compiled_beside(workers: int | None, model: Compared) -> Iterator[None]:
    """Let the two kernels that take longest be compiled beside each other, the first time.

    Parameters:
        workers: that were asked for; one is this process, which then does everything.
        model: whose first option is played there, for what else a nominal run takes.
    """
    if workers == 1 or available_workers() == 1 or not step_to_compile():
        yield
        return
    with processes(1, copies=True) as beside:
        beside.later(partial(_play_one, model), model.options[:1])
        load_lanes()
        yield


def _play_one(model: Compared, option: str) -> None:
    """Play a nominal run for what it compiles; whoever asks for it says what is wrong with it."""
    load_step()
    with suppress(EdgewearError):
        model.nominal(option)


def _steps(
    options: Sequence[str], played: OnDevice | None, replicates: int, first: NominalCourse
) -> float:
    """Steps that processors take over all trials, or as long over what a device plays."""
    lent = 0 if played is None else len(played.options)
    each = lent * STEPS_AROUND_A_DEVICE + (len(options) - lent) * first.steps
    return replicates * each


def _gang(workers: int, played: OnDevice | None) -> WorkerPool:
    if workers == 1:
        return inline()
    if played is None or not played.options:
        return processes(workers, copies=True)
    # what drives a device is in no copy of a process
    return processes(busy_workers(workers, played.device))


def available_workers() -> int:
    """Count the processors this process may use."""
    import os

    return len(os.sched_getaffinity(0))
