"""An option as numbers: record arrays in SI, and what may vary resolved to places in them.

A run is a patched copy of a case; no file, model or unit code is touched per run.
"""

from __future__ import annotations

from edgewear.case.compile import compile_case
from edgewear.case.model import Batch, Case, Pattern, Records, Shift, Uncertainty

__all__ = ["Batch", "Case", "Pattern", "Records", "Shift", "Uncertainty", "compile_case"]
