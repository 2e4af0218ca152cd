"""All quantities of a scenario with their addresses."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from pydantic import BaseModel

from edgewear.scenario.models.scenario import Option, Scenario
from edgewear.scenario.models.steps import Repeat
from edgewear.scenario.read.assemble import MACHINE
from edgewear.scenario.text.quantities import Measured

_SECTIONS = ("anchors", "edges", "ropes", "people")
_PARAMETERS = ("wear", "times", "work", "detection", "weather")


def all_quantities(scenario: Scenario) -> dict[str, Measured]:
    """Map addresses to quantities, in the order of the file.

    What an option takes from the library, a pad's friction say, stands under the option where it is
    used; what a person or an edge takes stands under that person or edge.
    """
    found: dict[str, Measured] = {}
    for section in _SECTIONS:
        typed = {k: v for k, v in getattr(scenario, section).items() if k != MACHINE}
        found.update(_walk(typed, section))
    for name, option in scenario.options.items():
        found.update(_option(option, f"options/{name}"))
    one = len(scenario.job) == 1
    for person, steps in scenario.job.items():
        found.update(_steps(steps, "job" if one and len(scenario.people) <= 1 else f"job/{person}"))
    for name, fault in scenario.faults.items():
        found.update(_walk(fault, f"faults/{name}"))
    found.update(_walk(scenario.below, "below"))
    found.update(_walk(scenario.beside, "beside"))
    for section in _PARAMETERS:
        found.update(_walk(getattr(scenario, section), section))
    return found


def _option(option: Option, address: str) -> dict[str, Measured]:
    """Give the quantities of an option's lines; one person's lines need no name."""
    found: dict[str, Measured] = {}
    for person, lines in option.lines.items():
        base = address if len(option.lines) == 1 else f"{address}/lines/{person}"
        found.update(_walk(lines.working, base))
        if lines.safety is not None:
            own: dict[str, Any] = {"protect": {}} if lines.safety.shares_protection else {}
            found.update(_walk(lines.safety.model_copy(update=own), f"{base}/safety line"))
    return found


def _steps(steps: tuple[Any, ...], address: str) -> dict[str, Measured]:
    found: dict[str, Measured] = {}
    for index, step in enumerate(steps, 1):
        here = f"{address}/{index}/{step.step}"
        if isinstance(step, Repeat):
            found.update(_steps(step.steps, f"{here}/steps"))
        else:
            found.update(_walk(step, here))
    return found


def _walk(found: object, address: str) -> Iterator[tuple[str, Measured]]:
    """Go through everything below an address."""
    if isinstance(found, Measured):
        yield address, found
    elif isinstance(found, BaseModel):
        for name, field in type(found).model_fields.items():
            yield from _walk(getattr(found, name), f"{address}/{field.alias or name}")
    elif isinstance(found, Mapping):
        for key, value in found.items():
            yield from _walk(value, f"{address}/{key}")
    elif isinstance(found, list | tuple):
        for index, value in enumerate(found, 1):
            yield from _walk(value, f"{address}/{index}")
