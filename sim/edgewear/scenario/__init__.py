"""Scenario files: reading them with positions, units, the built-in library, frozen models in SI."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from edgewear.scenario.inventory import all_quantities as all_quantities
    from edgewear.scenario.models.scenario import Scenario as Scenario
    from edgewear.scenario.read.reading import load_scenario as load_scenario
    from edgewear.scenario.read.reading import load_text as load_text
    from edgewear.scenario.summaries import resolved_document as resolved_document
    from edgewear.scenario.summaries import summary as summary
    from edgewear.scenario.summaries import summary_document as summary_document
    from edgewear.scenario.text.quantities import Measured as Measured

_HOMES = {
    "Measured": "text.quantities",
    "Scenario": "models.scenario",
    "all_quantities": "inventory",
    "load_scenario": "read.reading",
    "load_text": "read.reading",
    "resolved_document": "summaries",
    "summary": "summaries",
    "summary_document": "summaries",
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


def __getattr__(name: str) -> Any:  # whatever the name stands for
    """Load a public name the first time it is asked for.

    Raises:
        AttributeError: no such name.
    """
    if name not in _HOMES:
        raise AttributeError(f"module 'edgewear.scenario' has no attribute {name!r}")
    return getattr(import_module(f"edgewear.scenario.{_HOMES[name]}"), name)
