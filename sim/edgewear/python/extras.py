"""Packages that are only there if somebody asked for them."""

from __future__ import annotations

from importlib import import_module
from types import ModuleType

from edgewear.errors import UsageError


def needed(package: str, extra: str) -> ModuleType:
    """Load a package of an extra.

    Parameters:
        package: to import; extra: of edgewear that brings it.

    Raises:
        UsageError: it is not installed.
    """
    try:
        return import_module(package)
    except ImportError as error:
        message = f"{package} is not installed; `pip install edgewear[{extra}]` brings it"
        raise UsageError(message) from error
