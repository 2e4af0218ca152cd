"""Chance as the job needs it: by name, so that nothing depends on who asks first."""

from __future__ import annotations

from typing import Protocol

from edgewear.scenario.text.quantities import Measured


class Chance(Protocol):
    """Draws for one run of a job; the engine implements it, nominal runs use `Nominal`."""

    def share(self, name: str) -> float:
        """A number between 0 and 1 that belongs to a name."""
        ...

    def value(self, name: str, quantity: Measured) -> float:
        """A value of an uncertain quantity, in its unit."""
        ...


class Nominal:
    """No chance: the middle of everything, so that what is likelier than not happens."""

    def share(self, name: str) -> float:
        """Give one half."""
        return 0.5

    def value(self, name: str, quantity: Measured) -> float:
        """Give the nominal value."""
        return quantity.value
