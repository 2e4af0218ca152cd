"""Projects sheath wear of ropes over edges and ranks ways of rigging a job.

Everything but the errors is loaded on first use, so that importing the package stays cheap.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from edgewear.errors import (
    CannotCreate,
    CannotWrite,
    DatasetError,
    Deadlock,
    DeviceFailed,
    EdgewearError,
    Interrupted,
    Locked,
    Mismatch,
    Problem,
    RunFailed,
    ScenarioError,
    Unfinished,
    UsageError,
)

if TYPE_CHECKING:
    from edgewear import bench
    from edgewear.dataset.reading import open_dataset
    from edgewear.programme.learn.run import learn
    from edgewear.python.frames import as_xarray
    from edgewear.python.model import Model, load
    from edgewear.python.observed import Observed
    from edgewear.python.replayed import Replayed
    from edgewear.python.results import Results
    from edgewear.python.run import Run
    from edgewear.scenario import Scenario, load_scenario
    from edgewear.study.compare import compare
    from edgewear.study.single import simulate
    from edgewear.study.sweeping.sweep import sweep

    __version__: str

_HOMES = {
    "Model": "edgewear.python.model",
    "Observed": "edgewear.python.observed",
    "Replayed": "edgewear.python.replayed",
    "Results": "edgewear.python.results",
    "Run": "edgewear.python.run",
    "Scenario": "edgewear.scenario",
    "as_xarray": "edgewear.python.frames",
    "bench": "edgewear.bench",
    "compare": "edgewear.study.compare",
    "learn": "edgewear.programme.learn.run",
    "load": "edgewear.python.model",
    "load_scenario": "edgewear.scenario",
    "open_dataset": "edgewear.dataset.reading",
    "simulate": "edgewear.study.single",
    "sweep": "edgewear.study.sweeping.sweep",
}
"""Public name -> module that holds it, loaded on first use."""

__all__ = [
    "CannotCreate",
    "CannotWrite",
    "DatasetError",
    "Deadlock",
    "DeviceFailed",
    "EdgewearError",
    "Interrupted",
    "Locked",
    "Mismatch",
    "Model",
    "Observed",
    "Problem",
    "Replayed",
    "Results",
    "Run",
    "RunFailed",
    "Scenario",
    "ScenarioError",
    "Unfinished",
    "UsageError",
    "as_xarray",
    "bench",
    "compare",
    "learn",
    "load",
    "load_scenario",
    "open_dataset",
    "simulate",
    "sweep",
]


def __getattr__(name: str) -> Any:  # whatever the name stands for
    """Load a public name from its home the first time it is asked for.

    Raises:
        AttributeError: no such name.
    """
    if name == "__version__":
        from importlib.metadata import version

        return version("edgewear")
    if name not in _HOMES:
        raise AttributeError(f"module 'edgewear' has no attribute {name!r}")
    module = import_module(_HOMES[name])
    value = module if name == "bench" else getattr(module, name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    """List the public names, loaded or not."""
    return sorted(__all__)
