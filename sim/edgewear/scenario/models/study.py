"""A study: which inputs are varied, and how."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from edgewear.scenario.models.base import Closed, Count, Seed
from edgewear.scenario.text.quantities import shown


class Sample(Closed):
    """A design over uncertain inputs, drawn for every point of the grid."""

    method: Literal["sobol", "latin hypercube", "random"] = "sobol"
    """How the rows are spread."""
    rows: Count
    """How many."""
    over: tuple[str, ...] = Field(min_length=1)
    """Groups (friction, wear, body, rope, survey, technique) or addresses."""


class Study(Closed):
    """What a sweep runs."""

    grid: dict[str, tuple[str, ...]] = Field(default_factory=dict)
    """Address -> values as typed; every combination is run. `options` names the options."""
    sample: Sample | None = None
    """A design over uncertain inputs."""
    table: str | None = None
    """A CSV or parquet file with one run a row, its columns named by address."""
    replicates: Count = 1
    """Runs with different draws for every row."""
    skip: tuple[dict[str, str], ...] = ()
    """Combinations that are left out."""
    seed: Seed = 0
    """Seed of all draws."""

    @model_validator(mode="before")
    @classmethod
    def _spread_ranges(cls, found: object) -> object:
        """Turn `{from, to, steps}` into the values it stands for."""
        from edgewear.scenario.text.grid import spread

        return spread(found)

    @model_validator(mode="after")
    def _grid_or_sample(self) -> Study:
        """Refuse an address that is both set by the grid and sampled."""
        both = sorted(set(self.grid) & set(self.sample.over if self.sample else ()))
        if both:
            listed = ", ".join(repr(address) for address in both)
            message = f"{listed} in both grid and sample: keep it in one of them"
            raise shown("both", message, at="sample")
        return self
