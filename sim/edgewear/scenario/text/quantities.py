"""Fields of models that are typed as quantities and hold a `Measured`."""

from __future__ import annotations

from typing import Any

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationInfo
from pydantic_core import core_schema

from edgewear.scenario.text.measured import Basis, Distribution, Due, Measured, shown
from edgewear.scenario.text.quantity_text import QuantityProblem, read_quantity

__all__ = ["Basis", "Distribution", "Measured", "Quantity", "shown"]


class Quantity(Due):
    """Marks a field that is typed as a quantity; the field itself holds a `Measured`."""

    def __get_pydantic_core_schema__(
        self, source: object, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        """Read text, a library entry or a `Measured`."""
        return core_schema.with_info_plain_validator_function(
            self._validate, serialization=core_schema.plain_serializer_function_ser_schema(_dump)
        )

    def __get_pydantic_json_schema__(
        self, schema: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """Name what people type; a schema's maker describes each name once."""
        parts = [self.dimension.replace(" ", "_"), self.accuracy, self.directions]
        return {"x-quantity": ".".join(parts)}

    def _validate(self, found: object, info: ValidationInfo) -> Measured:
        """Hand a `Measured` through, read anything else."""
        if isinstance(found, Measured):
            return found
        try:
            return read_quantity(found, self, info.context or {})
        except QuantityProblem as problem:
            raise shown("quantity", str(problem)) from problem


def _dump(value: Measured) -> dict[str, Any]:
    """Give the fields that a resolved scenario stores."""
    return value.model_dump()
