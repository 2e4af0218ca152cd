"""Scenario files: reading them with positions, units, the built-in library, frozen models in SI."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from edgewear.scenario.inventory import all_quantities as all_quantities
    from edgewear.scenario.models import Scenario as Scenario
    from edgewear.scenario.quantities import Measured as Measured
    from edgewear.scenario.read import load_scenario as load_scenario
    from edgewear.scenario.read import load_text as load_text
    from edgewear.scenario.understood import resolved_document as resolved_document
    from edgewear.scenario.understood import summary as summary
    from edgewear.scenario.understood import summary_document as summary_document

_HOMES = {
    "Measured": "quantities",
    "Scenario": "models",
    "all_quantities": "inventory",
    "load_scenario": "read",
    "load_text": "read",
    "resolved_document": "understood",
    "summary": "understood",
    "summary_document": "understood",
}

__all__ = [
    "Measured",
    "Scenario",
    "all_quantities",
    "load_scenario",
    "load_text",
    "resolved_document",
    "summary",
    "summary_document",
]


def __getattr__(name: str) -> Any:
    """Load a public name the first time it is asked for.

    Raises:
        AttributeError: no such name.
    """
    if name not in _HOMES:
        raise AttributeError(f"module 'edgewear.scenario' has no attribute {name!r}")
    return getattr(import_module(f"edgewear.scenario.{_HOMES[name]}"), name)
