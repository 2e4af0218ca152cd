"""Terminal tables, the page, text documents and cards, all from finished datasets."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .fault_chart import faults_picture
    from .faults_page import write_faults
    from .faults_terminal import print_faults
    from .observed_terminal import print_observed
    from .terminal import print_ranking, print_run
    from .write import write_corrected, write_report

__all__ = [
    "faults_picture",
    "print_faults",
    "print_observed",
    "print_ranking",
    "print_run",
    "write_corrected",
    "write_faults",
    "write_report",
]

_HOMES = {
    "faults_picture": "fault_chart",
    "print_observed": "observed_terminal",
    "print_ranking": "terminal",
    "print_faults": "faults_terminal",
    "print_run": "terminal",
    "write_corrected": "write",
    "write_faults": "faults_page",
    "write_report": "write",
}


def __getattr__(name: str) -> Any:
    """Load a public name on first use."""
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f".{_HOMES[name]}", __name__), name)
