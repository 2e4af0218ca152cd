"""What every word and distance of the survey was taken to mean."""

from __future__ import annotations

from collections.abc import Iterator

from pydantic import BaseModel

from edgewear.findings.rigging import WordMeaning
from edgewear.scenario.models.base import spelled
from edgewear.scenario.models.scenario import Scenario
from edgewear.scenario.text.quantities import Measured


def words(scenario: Scenario) -> tuple[WordMeaning, ...]:
    """Return one row for each quantity of the site that carries a range, by its address.

    Low and high are the ends of the central 90 %; a word brings a range, a measurement its
    accuracy.
    """
    rows = []
    for section in ("anchors", "edges", "ropes"):
        for name, item in getattr(scenario, section).items():
            for address, found in _measured(item, f"{section}/{name}"):
                if not found.is_exact and found.basis in ("measured", "taped", "paced", "class"):
                    rows.append(_row(address, found, getattr(item, "is_", None)))
    return tuple(rows)


def _measured(item: BaseModel, address: str) -> Iterator[tuple[str, Measured]]:
    for field in type(item).model_fields:
        value = getattr(item, field, None)
        if isinstance(value, Measured):
            yield f"{address}/{spelled(field)}", value
        elif isinstance(value, BaseModel):
            yield from _measured(value, f"{address}/{spelled(field)}")


def _row(address: str, found: Measured, word: str | None) -> WordMeaning:
    return WordMeaning(
        address=address,
        typed=word if found.basis == "class" and word else found.typed,
        meaning=f"{found.basis}: {found.value:g} {found.unit}",
        value=found.value,
        low=found.low,
        high=found.high,
        unit=found.unit,
        source=found.pedigree or found.basis,
        basis=found.basis,
    )
