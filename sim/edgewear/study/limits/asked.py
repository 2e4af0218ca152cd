"""What is asked of a scenario: which inputs, over which range, and how a value is put in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from edgewear.errors import UsageError
from edgewear.scenario import all_quantities, load_text
from edgewear.scenario.models.scenario import Scenario
from edgewear.scenario.read.addresses import matching, quantity_due
from edgewear.scenario.text.quantities import Quantity
from edgewear.scenario.text.quantity_text import QuantityProblem, read_quantity
from edgewear.scenario.text.retyping import spelled_out
from edgewear.scenario.text.tree import child, parse_tree
from edgewear.scenario.text.units import DIMENSIONS, spell_units

WHOLE_JOB = "job/times"
"""The input that says how often the whole job is done; no file has it, a repeat is put round it."""

WIDER = 4.0
"""Without a range, from a quarter of the present value to four times it."""

MOST_TIMES = 50
"""Without a range, counts are tried up to so many times."""


@dataclass(frozen=True)
class Asked:
    """One input of one option, and the range over which it is tried."""

    option: str
    address: str
    low: float  # SI
    high: float
    present: float | None
    dimension: str  # "": a count

    @property
    def whole(self) -> bool:
        """Whether only whole numbers are meant."""
        return not self.dimension

    @property
    def unit(self) -> str:
        """SI unit of the values."""
        return DIMENSIONS[self.dimension].unit if self.dimension else "1"

    def put(self, scenario: Scenario, value: float) -> Scenario:
        """Read the scenario again with a value of this input, known exactly.

        Raises:
            ScenarioError: it cannot be used with that value.
        """
        if self.address == WHOLE_JOB:
            return repeated(scenario, int(value))
        return scenario.with_values({self.address: value})


def asked(scenario: Scenario, typed: str, options: tuple[str, ...]) -> list[Asked]:
    """Read what was typed for an input: `ADDRESS` or `ADDRESS=LOW..HIGH`.

    Parameters:
        scenario: the scenario.
        typed: an address; `options/*/..` stands for each option's own.
        options: those concerned.

    Raises:
        UsageError: the address leads nowhere or to no number, or the range cannot be read.
    """
    address, _, span = typed.partition("=")
    address = address.strip()
    if address == WHOLE_JOB:
        low, high = _span(span, None, address) if span.strip() else (1.0, float(MOST_TIMES))
        return [Asked(name, address, low, high, 1.0, "") for name in options]
    found = list(_spelled_out(scenario, address, options))
    if not found:
        raise UsageError(f"{address}: no option concerned has it")
    return [_asked(scenario, option, one, span.strip()) for option, one in found]


def inputs_of(scenario: Scenario, option: str) -> Iterator[tuple[str, float, str]]:
    """Give what could be asked of an option: (address, present value in SI, unit)."""
    yield WHOLE_JOB, 1.0, "1"
    data = parse_tree(scenario.source, scenario.path).data
    for address, measured in all_quantities(scenario).items():
        first, _, rest = address.partition("/")
        if first == "options" and not rest.startswith(f"{option}/"):
            continue
        if first not in ("anchors", "edges", "ropes", "people", "options", "job"):
            continue
        match = matching(data, address)
        if match.paths and measured.value and quantity_due(match.paths[0], data) is not None:
            yield address, measured.value, measured.unit


def _spelled_out(
    scenario: Scenario, address: str, options: tuple[str, ...]
) -> Iterator[tuple[str, str]]:
    """Pair each option concerned with the address as it is for it."""
    data = parse_tree(scenario.source, scenario.path).data
    match = matching(data, address)
    if match.problem or not match.paths:
        raise UsageError(f"{address}: leads nowhere: {match.problem or 'nothing there'}")
    for option in options:
        for path in match.paths:
            if path[0] != "options" or path[1] == option:
                yield option, "/".join(_part(part) for part in path)


def _part(part: str | int) -> str:
    return str(part + 1) if isinstance(part, int) else part


def _asked(scenario: Scenario, option: str, address: str, span: str) -> Asked:
    data = parse_tree(scenario.source, scenario.path).data
    path = matching(data, address).paths[0]
    due = quantity_due(path, data)
    present = _present(scenario, data, address)
    if due is None and not isinstance(present, float):
        raise UsageError(f"{address}: no number stands there, so it has no limit to look for")
    low, high = _span(span, due, address) if span else _around(present, due, address)
    return Asked(option, address, low, high, present, due.dimension if due else "")


def _present(scenario: Scenario, data: Mapping[str, Any], address: str) -> float | None:
    measured = all_quantities(scenario).get(address)
    if measured is not None:
        return float(measured.value)
    here: object = data
    for part in matching(data, address).paths[0]:
        _, here = child(here, part)
    return float(here) if isinstance(here, str) and here.isascii() and here.isdigit() else None


def _around(present: float | None, due: Quantity | None, address: str) -> tuple[float, float]:
    """The range tried where none is typed."""
    if not present:
        raise UsageError(
            f"{address}: 0 or nothing stands there; say the range, {address}=LOW..HIGH"
        )
    if due is None:
        return 1.0, float(max(MOST_TIMES, int(WIDER * present)))
    low, high = sorted((present / WIDER, present * WIDER))
    if due.low is not None:
        low = max(low, due.low)
    if due.high is not None:
        high = min(high, due.high)
    return low, high


def _span(text: str, due: Quantity | None, address: str) -> tuple[float, float]:
    """Read `LOW..HIGH`, each as it would be typed in the file.

    Raises:
        UsageError: it is something else.
    """
    first, dots, last = text.partition("..")
    if not dots:
        raise UsageError(f"{address}={text}: a range is due, LOW..HIGH, such as {_example(due)}")
    ends = sorted(_end(one.strip(), due, address) for one in (first, last))
    if ends[0] == ends[1]:
        raise UsageError(f"{address}={text}: both ends of the range are the same")
    return ends[0], ends[1]


def _end(text: str, due: Quantity | None, address: str) -> float:
    if due is None:
        if text.isascii() and text.isdigit() and int(text) >= 1:
            return float(int(text))
        raise UsageError(f"{address}: {text!r} is no whole number from 1")
    try:
        return read_quantity(text, Quantity(due.dimension, directions=due.directions), {}).value
    except QuantityProblem as problem:
        raise UsageError(f"{address}: {problem}") from problem


def _example(due: Quantity | None) -> str:
    return "1..20" if due is None else f"2..20, each with {spell_units(DIMENSIONS[due.dimension])}"


def repeated(scenario: Scenario, times: int) -> Scenario:
    """Read the scenario again with everybody's job done so many times.

    Parameters:
        times: from 1.

    Raises:
        ScenarioError: it cannot be used so.
    """
    if times == 1:
        return scenario
    data = dict(parse_tree(scenario.source, scenario.path).data)
    job = data.get("job", [])
    if isinstance(job, Mapping):
        data["job"] = {person: _round(steps, times) for person, steps in job.items()}
    else:
        data["job"] = _round(job, times)
    return load_text(spelled_out(data), scenario.path, scenario.library_source)


def _round(steps: object, times: int) -> list[dict[str, object]]:
    return [{"repeat": {"times": str(times), "steps": steps}}]


def share_of(text: str) -> float:
    """Read a target as it would be typed, such as `60 %` [1].

    Raises:
        UsageError: it is something else.
    """
    return _end(text.strip(), Quantity("share"), "target")
