"""Scenario files: reading them with positions, units, the built-in library, frozen models in SI."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from edgewear.scenario.models import Scenario as Scenario
    from edgewear.scenario.quantities import Measured as Measured
    from edgewear.scenario.read import load_scenario as load_scenario
    from edgewear.scenario.read import load_text as load_text

_HOMES = {
    "Measured": "quantities",
    "Scenario": "models",
    "load_scenario": "read",
    "load_text": "read",
}

__all__ = ["Measured", "Scenario", "load_scenario", "load_text"]


def __getattr__(name: str) -> Any:
    """Load a public name the first time it is asked for.

    Raises:
        AttributeError: no such name.
    """
    if name not in _HOMES:
        raise AttributeError(f"module 'edgewear.scenario' has no attribute {name!r}")
    return getattr(import_module(f"edgewear.scenario.{_HOMES[name]}"), name)
