"""What all models of a scenario share: frozen, closed, and spelled with blanks."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, WithJsonSchema

from edgewear.scenario.text.quantities import Measured, Quantity, shown


def spelled(name: str) -> str:
    """Turn a field's name into the key people type: `sheath_share` -> `sheath share`."""
    return name.strip("_").replace("_", " ").replace("re anchor", "re-anchor")


class Closed(BaseModel):
    """A frozen model that refuses unknown keys; keys are typed with blanks."""

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        allow_inf_nan=False,
        defer_build=True,  # a file uses few of these, and each costs a millisecond
        alias_generator=spelled,
        validate_by_name=True,
        validate_by_alias=True,
    )


def _whole(found: object) -> object:
    """Read a whole number typed with ASCII digits."""
    if isinstance(found, int) and not isinstance(found, bool):
        return found
    if isinstance(found, str) and found.isascii() and found.isdigit() and len(found) < 19:
        return int(found)
    raise shown("count", f"{found!r}: a whole number is due, such as 12")


def _yes_no(found: object) -> object:
    """Read a yes or a no."""
    words = {"yes": True, "no": False, "true": True, "false": False}
    if isinstance(found, bool):
        return found
    if isinstance(found, str) and found in words:
        return words[found]
    raise shown("yes or no", f"{found!r}: allowed are yes and no")


Count = Annotated[
    int,
    BeforeValidator(_whole),
    Field(ge=1, le=1_000_000_000),
    WithJsonSchema({"type": "integer", "minimum": 1, "description": "a whole number"}),
]
Seed = Annotated[
    int,
    BeforeValidator(_whole),
    Field(ge=0, lt=2**63),
    WithJsonSchema({"type": "integer", "minimum": 0, "description": "a whole number"}),
]
YesNo = Annotated[
    bool,
    BeforeValidator(_yes_no),
    WithJsonSchema({"enum": ["yes", "no", "true", "false", True, False]}),
]
Length = Annotated[Measured, Quantity("length", low=0.0, above=True)]
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
Friction = Annotated[Measured, Quantity("factor", low=0.0, high=3.0)]
"""Coefficient of friction; rope on anything lies below 1, and from 3 on nothing slides any more."""
Ratio = Annotated[Measured, Quantity("factor", low=0.01, high=100.0)]
"""What multiplies or divides something else of the same kind: never nothing."""
Rate = Annotated[Measured, Quantity("rate", low=0.0)]
