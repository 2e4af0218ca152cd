"""What all models of a scenario share: frozen, closed, and spelled with blanks."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict

from edgewear.scenario.quantities import Measured, Quantity


def spelled(name: str) -> str:
    """Turn a field's name into the key people type: `sheath_share` -> `sheath share`."""
    return name.strip("_").replace("_", " ")


class Closed(BaseModel):
    """A frozen model that refuses unknown keys; keys are typed with blanks."""

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        allow_inf_nan=False,
        alias_generator=spelled,
        validate_by_name=True,
        validate_by_alias=True,
    )


Length = Annotated[Measured, Quantity("length", low=0.0, above=True)]
Distance = Annotated[Measured, Quantity("length", accuracy="distance", low=0.0)]
Out = Annotated[Measured, Quantity("length", accuracy="distance", directions="out")]
Up = Annotated[Measured, Quantity("length", accuracy="distance", directions="up")]
Along = Annotated[Measured, Quantity("length", accuracy="distance", directions="along")]
Duration = Annotated[Measured, Quantity("time", low=0.0)]
Mass = Annotated[Measured, Quantity("mass", low=0.0, above=True)]
Force = Annotated[Measured, Quantity("force", low=0.0, above=True)]
Speed = Annotated[Measured, Quantity("speed", low=0.0, above=True)]
Angle = Annotated[Measured, Quantity("angle", low=0.0)]
Share = Annotated[Measured, Quantity("share", low=0.0, high=1.0)]
Factor = Annotated[Measured, Quantity("factor", low=0.0)]
Rate = Annotated[Measured, Quantity("rate", low=0.0)]
