"""The public names and how they are called."""

from __future__ import annotations

import inspect
import pickle
from importlib.metadata import version

import pytest

import edgewear
from edgewear import errors

ERRORS = {
    "CannotCreate": 73,
    "CannotWrite": 74,
    "DatasetError": 74,
    "Deadlock": 65,
    "DeviceFailed": 1,
    "EdgewearError": 1,
    "Interrupted": 130,
    "Locked": 75,
    "Mismatch": 65,
    "RunFailed": 1,
    "ScenarioError": 65,
    "Unfinished": 75,
    "UsageError": 2,
}
SIGNATURES = {
    "as_xarray": "(frame: 'pd.DataFrame', *index: 'str') -> 'Any'",
    "compare": "(scenario: 'Scenario | str | Path', replicates: 'int' = 256, seed: 'int' = 0, "
    "workers: 'int | None' = None, out: 'str | Path | None' = None, "
    "progress: 'Told | None' = None, changes: 'Sequence[str]' = (), device: 'str' = 'cpu') "
    "-> 'Ranking'",
    "learn": "(source: 'str | Path | Programme', out: 'str | Path', particles: 'int' = 128, "
    "seed: 'int' = 0, workers: 'int | None' = 1, rivals: 'bool' = False, "
    "told: 'Told | None' = None, provisional: 'bool' = False) -> 'Learned'",
    "load": "(source: 'str | Path | Mapping[str, Any]') -> 'Model'",
    "load_scenario": "(path: 'str | Path') -> 'Scenario'",
    "open_dataset": "(folder: 'str | Path') -> 'Dataset'",
    "simulate": "(scenario: 'Scenario | str | Path', option: 'str | None' = None) "
    "-> 'dict[str, Any]'",
    "sweep": "(scenario: 'Scenario | str | Path', out: 'str | Path', workers: 'int | None' = None, "
    "cluster_address: 'str | None' = None, progress: 'Told | None' = None, "
    "executor: 'Executor | None' = None, edges: 'bool' = False, device: 'str' = 'cpu') "
    "-> 'SweepResult'",
}
OTHERS = {"Model", "Observed", "Problem", "Replayed", "Results", "Run", "Scenario", "bench"}
METHODS = {
    "Model.with_": "(self, values: 'Mapping[str, str | float]') -> 'Model'",
    "Model.run": "(self, option: 'str | None' = None, rate_hz: 'float' = 10.0, "
    "seconds: 'float' = 3600.0) -> 'Run'",
    "Model.compare": "(self, replicates: 'int' = 256, seed: 'int' = 0, "
    "workers: 'int | None' = None, out: 'str | Path | None' = None) -> 'Results'",
    "Model.sweep": "(self, out: 'str | Path | None' = None, workers: 'int | None' = 1, "
    "edges: 'bool' = False) -> 'Results'",
    "Model.observe": "(self, replicates: 'int' = 512, seed: 'int' = 0, "
    "workers: 'int | None' = None, out: 'str | Path | None' = None) -> 'Observed'",
    "Results.replay": "(self, run: 'int', rate_hz: 'float | None' = None) -> 'Replayed'",
    "Results.for_formulas": "(self) -> 'pd.DataFrame'",
    "Run.plot": "(self, what: 'str' = 'profile', axes: 'Axes | None' = None) -> 'Axes'",
    "Replayed.plot": "(self, what: 'str' = 'profile', axes: 'Axes | None' = None) -> 'Axes'",
}


def test_the_names_are_these_in_order() -> None:
    assert edgewear.__all__ == sorted({*ERRORS, *SIGNATURES, *OTHERS})
    assert dir(edgewear) == edgewear.__all__
    assert all(getattr(edgewear, name) is not None for name in edgewear.__all__)


@pytest.mark.parametrize("name", SIGNATURES)
def test_a_call_looks_like_this(name: str) -> None:
    assert str(inspect.signature(getattr(edgewear, name))) == SIGNATURES[name]


@pytest.mark.parametrize("name", METHODS)
def test_a_method_looks_like_this(name: str) -> None:
    owner, _, method = name.partition(".")
    assert str(inspect.signature(getattr(getattr(edgewear, owner), method))) == METHODS[name]


def test_the_version_is_the_one_installed() -> None:
    assert edgewear.__version__ == version("edgewear")


def test_the_laboratory_has_its_set_ups() -> None:
    assert {"hang", "pull", "raise_lower", "drop", "bounce", "reciprocate"} <= set(
        edgewear.bench.__all__
    )


def test_no_other_name_is_made_up() -> None:
    with pytest.raises(AttributeError, match="simulat0r"):
        edgewear.simulat0r  # noqa: B018


@pytest.mark.parametrize(("name", "code"), ERRORS.items())
def test_an_error_ends_with_its_code(name: str, code: int) -> None:
    assert getattr(edgewear, name).exit_code == code


def test_every_error_is_public_and_drawn_in_the_tree() -> None:
    leaves = {
        name: value
        for name, value in vars(errors).items()
        if inspect.isclass(value) and issubclass(value, errors.EdgewearError)
    }
    assert set(leaves) == set(ERRORS)
    for name, leaf in leaves.items():
        drawn = next(
            line for line in (errors.__doc__ or "").splitlines() if f" {name} " in f" {line}"
        )
        assert str(leaf.exit_code) in drawn.split()


def test_problems_come_in_the_order_of_the_file_and_travel_between_processes() -> None:
    late = errors.Problem("job.yaml", 9, 2, "job/1", "no such step")
    early = errors.Problem("job.yaml", 3, 1, "edges/coping/radius", "5 is no length")
    found = pickle.loads(pickle.dumps(errors.ScenarioError([late, early])))
    assert found.problems == (early, late)
    assert str(found).splitlines()[0] == "job.yaml:3:1: edges/coping/radius: 5 is no length"
    assert str(errors.Problem("job.yaml", 0, 0, "", "not UTF-8")) == "job.yaml: not UTF-8"
