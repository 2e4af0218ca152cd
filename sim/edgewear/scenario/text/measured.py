"""A quantity in SI: a value, how sure it is, and where it comes from."""

from __future__ import annotations

from typing import Literal, NamedTuple, Self

from pydantic import BaseModel, ConfigDict
from pydantic_core import PydanticCustomError

Basis = Literal["measured", "taped", "paced", "class", "library", "assumed", "given"]
"""Where a value comes from; `given` is exact, the others have an accuracy."""

Distribution = Literal["fixed", "normal", "lognormal", "uniform", "triangular"]
"""How a value varies between its low and high end."""


class Measured(BaseModel):
    """A quantity in SI with the central 90 % interval of what it may be."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    value: float
    low: float
    high: float
    unit: str
    typed: str
    basis: Basis = "given"
    distribution: Distribution = "fixed"
    pedigree: str = ""

    @classmethod
    def exact(cls, value: float, unit: str = "1", typed: str = "") -> Self:
        """Make a quantity that is known exactly.

        Parameters:
            value: in SI.
            unit: the SI unit's spelling.
            typed: the text it stands for; the number itself if left out.
        """
        text = typed or f"{value:g} {unit}".removesuffix(" 1")
        return cls(value=value, low=value, high=value, unit=unit, typed=text)

    @property
    def is_exact(self) -> bool:
        """Tell whether no uncertainty is carried."""
        return self.low == self.high


class Due(NamedTuple):
    """What is due where a quantity is typed."""

    dimension: str
    accuracy: str = ""  # key of the library's accuracies; "": a typed value is exact
    low: float | None = None  # smallest value allowed, SI
    high: float | None = None  # largest value allowed, SI
    above: bool = False  # `low` itself is refused
    directions: str = ""  # "out", "up" or "along": words such as `back` set the sign


def shown(kind: str, message: str, at: str = "") -> PydanticCustomError:
    """Make an error whose message is shown as it stands.

    Parameters:
        kind: for tests and programs.
        message: the sentence.
        at: the key inside the model that it is about.
    """
    details = {"message": message, "kind": kind, "at": at}
    return PydanticCustomError("edgewear", "{message}", details)
