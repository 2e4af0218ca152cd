"""What people run: one option, a comparison, a sweep; and what drives them."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from edgewear.study.single import simulate as simulate

__all__ = ["simulate"]

_HOMES = {"simulate": "single"}


def __getattr__(name: str) -> Any:  # whatever the name stands for
    """Load a public name on first use.

    Raises:
        AttributeError: no such name.
    """
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"edgewear.study.{_HOMES[name]}"), name)
