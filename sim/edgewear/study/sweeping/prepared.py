"""A study laid out: its levers found out, its plan made, its nominal runs under way."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from math import prod
from pathlib import Path
from typing import TYPE_CHECKING, Any

from edgewear.dataset import manifest as manifests
from edgewear.dataset.files import sha256_of
from edgewear.engine.draws import check_seed
from edgewear.errors import Problem, ScenarioError
from edgewear.findings.plain import plain
from edgewear.scenario.text.tree import parse_tree
from edgewear.study.compared import NominalCourse
from edgewear.study.model import ScenarioModel
from edgewear.study.sweeping.design import Floats, Stretch, design_of, points_of
from edgewear.study.sweeping.levers import Lever, lever_of
from edgewear.study.sweeping.sampled import names_compiled_anew, sampled_in
from edgewear.study.sweeping.sweep_plan import Axis, SweepPlan, Table, kept_points
from edgewear.study.sweeping.table_cells import refuse
from edgewear.study.sweeping.table_file import table_of_file
from edgewear.study.sweeping.values import places
from edgewear.study.worker_pool import WorkerPool, inline
from edgewear.study.workers.devices import on_device_of

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from edgewear.scenario.models.scenario import Scenario
    from edgewear.scenario.models.study import Study as Declared

OPTIONS = "options"


@dataclass(frozen=True)
class Prepared:
    """A sweep that could start."""

    model: ScenarioModel
    plan: SweepPlan
    nominal: Mapping[str, NominalCourse]
    about: Mapping[str, Any]


def prepare(scenario: Scenario | str | Path) -> Prepared:
    """Lay a study's plan out, without writing anything.

    Parameters:
        scenario: or the path of its file.

    Raises:
        ScenarioError: a scenario or study that cannot be used.
    """
    return prepared(*declared_in(scenario), inline())


def declared_in(
    scenario: Scenario | str | Path, edges: bool = False
) -> tuple[ScenarioModel, Declared]:
    """The scenario as a model, and the study in it."""
    model = ScenarioModel.of(scenario, 0, edges=edges)
    declared = model.scenario.study
    if declared is None:
        message = "missing; a sweep needs one (grid, sample, table or replicates)"
        raise ScenarioError([Problem(model.path, 1, 1, "study", message)])
    check_seed(declared.seed)
    return replace(model, seed=declared.seed), declared


def rows_of(declared: Declared) -> int:
    """Rows a study has at most, a table's not counted."""
    points = prod(len(values) for values in declared.grid.values())
    return points * (declared.sample.rows if declared.sample else 1) * declared.replicates


def prepared(
    model: ScenarioModel,
    declared: Declared,
    gang: WorkerPool,
    draw: Callable[[Stretch], Floats] = points_of,
) -> Prepared:
    """Lay a study's plan out, its nominal runs made by workers meanwhile.

    draw: makes the points of a Sobol sequence.
    """
    options = declared.grid.get(OPTIONS, model.options)
    table = _table(model, declared, options)
    typed = _typed_axes(declared, options, table)
    axes = _axes(model, typed, options)
    levers = [axis.lever for axis in axes if axis.lever is not None]
    levers += table.levers if table is not None else ()
    _refuse_twice(model, typed, levers)
    _refuse_alone(model, typed, levers, table)
    kept = _kept(model, typed, declared)
    model = replace(model, structural=_structural(levers), sets=_sets(levers))
    nominals = gang.later(model.nominal, options)
    sampled = sampled_in(model, declared, options, levers, table)
    drawn_anew = names_compiled_anew(model, sampled) if declared.sample else ()
    model = replace(model, structural=(*model.structural, *drawn_anew))
    names = tuple(dict.fromkeys(one.name for known in sampled.values() for one in known))
    sample = declared.sample
    design = design_of(sample.method, names, sample.rows, declared.seed, draw) if sample else None
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
        on_device=len(on_device_of(model, options)) == len(options),
    )
    return Prepared(model, plan, nominal, _about(model, declared))


def _kept(
    model: ScenarioModel, typed: list[tuple[str, tuple[str, ...]]], declared: Declared
) -> NDArray[np.int64] | None:
    """Find the points of the grid that are run.

    Raises:
        ScenarioError: there is none.
    """
    kept = kept_points(typed, declared.skip)
    if kept is not None and not kept.size:
        tree = parse_tree(model.text, model.path)
        tree.report(("study", "skip"), "leaves out every combination of the grid: nothing is run")
        refuse(tree.problems)
    return kept


def _refuse_twice(
    model: ScenarioModel, typed: list[tuple[str, tuple[str, ...]]], levers: list[Lever]
) -> None:
    """Refuse an address of the grid that gives a place another value than a second one does.

    Raises:
        ScenarioError: at its place in the study.
    """
    tree = parse_tree(model.text, model.path)
    stands = {lever.address: places(model, lever.address) for lever in levers}
    addresses = [lever.address for lever in levers]
    for address, _ in typed:
        if addresses.count(address) > 1:
            message = "is a column of the table as well: keep it in one of them"
            tree.report(("study", "grid", address), message, key=True)
        for other in stands:
            if other != address and stands[other] & stands.get(address, frozenset()):
                message = f"stands for what {other!r} stands for: keep one of them"
                tree.report(("study", "grid", address), message, key=True)
    refuse(tree.problems)


def _refuse_alone(
    model: ScenarioModel,
    typed: list[tuple[str, tuple[str, ...]]],
    levers: list[Lever],
    table: Table | None,
) -> None:
    """Refuse values that cannot be used, unless another lever may make room for them.

    Raises:
        ScenarioError: at their place in the study or the table.
    """
    if sum(lever.structural for lever in levers) > 1:
        return
    problems = list(table.refused) if table is not None else []
    tree = parse_tree(model.text, model.path)
    written = {lever.address: lever for lever in levers}
    for address, values in typed:
        lever = written.get(address)
        for value, problem in lever.refused if lever is not None else ():
            index = lever.values.index(value) if lever is not None else 0
            said = f"{values[index]!r} cannot be used: {problem}"
            tree.report(("study", "grid", address, index), said)
    refuse([*problems, *tree.problems])


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
    if model.edges:
        about["edges"] = True
    if model.device != "cpu":
        about["device"] = model.device
    if declared.table is not None:
        about["table_sha256"] = sha256_of(_beside(model, declared.table))
    return about
