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
    from edgewear.scenario import Scenario, load_scenario
    from edgewear.study.compare import compare
    from edgewear.study.single import simulate
    from edgewear.study.sweeping.sweep import sweep

_HOMES = {
    "Scenario": "edgewear.scenario",
    "bench": "edgewear.bench",
    "compare": "edgewear.study.compare",
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
    "EdgewearError",
    "Interrupted",
    "Locked",
    "Mismatch",
    "Problem",
    "RunFailed",
    "Scenario",
    "ScenarioError",
    "Unfinished",
    "UsageError",
    "bench",
    "compare",
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
    if name not in _HOMES:
        raise AttributeError(f"module 'edgewear' has no attribute {name!r}")
    module = import_module(_HOMES[name])
    value = module if name == "bench" else getattr(module, name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    """List the public names, loaded or not."""
    return sorted(__all__)
